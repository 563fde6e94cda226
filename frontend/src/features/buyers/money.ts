/** Amounts of money: whole numbers of a currency's smallest part, and how they are typed and shown. Pure. */

const CODE = /^[A-Z]{3}$/;

/** Decimals of a currency, by the browser's table (ISO 4217): 2 for EUR, 0 for JPY, 3 for KWD. */
export function decimals(currency: string): number {
  if (!CODE.test(currency)) return 2;
  return new Intl.NumberFormat("en", { style: "currency", currency }).resolvedOptions().maximumFractionDigits ?? 2;
}

export const isCurrency = (text: string): boolean => CODE.test(text);

/** "12", "12.50", "12,5" → 1250 with two decimals. null for what is no amount, is below nothing, or has more decimals. */
export function readMoney(text: string, currency: string): number | null {
  const match = /^(\d{1,9})(?:[.,](\d{0,4}))?$/.exec(text.replace(/[\s\u00a0\u202f']/g, ""));
  if (!match) return null;
  const places = decimals(currency);
  const rest = (match[2] ?? "").replace(/0+$/, "");
  if (rest.length > places) return null;
  return Number(match[1]) * 10 ** places + Number(rest.padEnd(places, "0") || 0);
}

/** 1250 → "12.50" to stand in a field. */
export function typedMoney(minor: number | null, currency: string, mark = "."): string {
  if (minor === null) return "";
  const places = decimals(currency);
  if (places === 0) return String(minor);
  const digits = String(minor).padStart(places + 1, "0");
  return `${digits.slice(0, -places)}${mark}${digits.slice(-places)}`;
}

/** 1250 → "€12.50"; the code itself where the browser knows no sign. */
export function showMoney(minor: number, currency: string, locale: string): string {
  if (!CODE.test(currency)) return typedMoney(minor, currency);
  return new Intl.NumberFormat(locale, { style: "currency", currency }).format(minor / 10 ** decimals(currency));
}

/** What a count costs by the list; null when it is not in the list in that currency. */
export function byTheList(
  prices: readonly { variety: string | null; unit: string; price_minor: number; currency: string }[],
  sold: { variety: string; unit: string; count: number },
  currency: string,
): number | null {
  const fits = prices.filter((one) => one.unit === sold.unit && one.currency === currency);
  const price = fits.find((one) => one.variety === sold.variety) ?? fits.find((one) => one.variety === null);
  return price ? price.price_minor * sold.count : null;
}
