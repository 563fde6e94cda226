/** The addresses of the farm computer's API, from its own description: a wrong one does not compile. */
import type { paths } from "./api-types.d.ts";

type Filled<P extends string> = P extends `${infer Before}{${string}}${infer After}` ? `${Before}${string}${Filled<After>}` : P;

/** With its ids filled in. */
export type Address = Filled<keyof paths>;
/** With or without a question. */
export type Asked = Address | `${Address}?${string}`;
