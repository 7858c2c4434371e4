/** Types of the part of `vcd-parser` that tests use; the package has none of its own. */
declare module 'vcd-parser' {
  export function parse(text: string): Promise<{
    readonly signal: readonly { readonly signalName: string; readonly wave: readonly (readonly [string, string])[] }[];
  }>;
}
