/** Numbers as hands type them: "6,5" is 6.5, "6 x 10" is 60. No locale can misread them. */

const DECIMAL = /^[-−]?(\d+([.,]\d*)?|[.,]\d+)$/;

/** The number, or null when the text is not one. Comma and point both part the decimals. */
export function parseDecimal(text: string): number | null {
  const bare = text.trim().replace(/\s/g, "");
  if (!DECIMAL.test(bare)) return null;
  const value = Number(bare.replace("−", "-").replace(",", "."));
  return Number.isFinite(value) ? value : null;
}

/** A whole count of 0 or more; "6 x 10", "6×10" and "6*10" multiply, "12+7" adds. */
export function parseCount(text: string): number | null {
  const bare = text.trim().toLowerCase().replace(/\s/g, "").replace(/[x*]/g, "×");
  if (!/^\d+([×+]\d+)*$/.test(bare)) return null;
  const value = bare
    .split("+")
    .map((part) => part.split("×").reduce((product, n) => product * Number(n), 1))
    .reduce((sum, n) => sum + n, 0);
  return Number.isSafeInteger(value) ? value : null;
}

/** What stands on the display after one more key. */
export function pressKey(text: string, key: string): string {
  if (key === "⌫") return text.slice(0, -1);
  if (key === "clear") return "";
  if (key === "−") return text.startsWith("−") ? text.slice(1) : `−${text}`;
  if ((key === "." || key === ",") && /[.,]/.test(text)) return text;
  if (key === "×" && (text === "" || text.endsWith("×"))) return text;
  if (text.length >= 12) return text;
  return text + key;
}
