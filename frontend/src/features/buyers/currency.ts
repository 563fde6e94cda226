/** The currency a form starts with. */

const KEY = "winter-tally-currency";

/** The one used last on this device, else the one most in use on the farm, else the language's. */
export function currencyInUse(sales: readonly { currency: string }[], prices: readonly { currency: string }[], locale: string): string {
  const own = kept();
  if (own) return own;
  const counts = new Map<string, number>();
  for (const { currency } of [...sales, ...prices]) if (currency) counts.set(currency, (counts.get(currency) ?? 0) + 1);
  const [most] = [...counts].sort((a, b) => b[1] - a[1]);
  return most?.[0] ?? (locale === "en-US" ? "USD" : "GBP");
}

function kept(): string {
  try {
    return localStorage.getItem(KEY) ?? "";
  } catch {
    return ""; // Storage is off in this browser.
  }
}

export function keepCurrency(currency: string): void {
  try {
    localStorage.setItem(KEY, currency);
  } catch {
    return;
  }
}
