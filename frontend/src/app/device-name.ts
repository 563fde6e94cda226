/** What this phone or browser is called until somebody says otherwise: "Android phone", "Firefox on Linux". */
export function deviceName(userAgent: string): string {
  const system =
    [["iPhone", /iPhone/], ["iPad", /iPad/], ["Android", /Android/], ["Windows", /Windows/], ["Mac", /Mac OS/], ["Linux", /Linux/]] as const;
  const browser =
    [["Firefox", /Firefox|FxiOS/], ["Edge", /Edg/], ["Samsung Internet", /SamsungBrowser/], ["Chrome", /Chrom|CriOS/], ["Safari", /Safari/]] as const;
  const of = (list: readonly (readonly [string, RegExp])[]) => list.find(([, sign]) => sign.test(userAgent))?.[0];
  const machine = of(system) ?? "Computer";
  if (machine === "iPhone" || machine === "iPad") return machine;
  if (machine === "Android") return "Android phone";
  return `${of(browser) ?? "Browser"} on ${machine}`;
}
