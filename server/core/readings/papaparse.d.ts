/** The part of papaparse that is used. Its published types pull in those of Node, which core must not see. */
declare module 'papaparse' {
  export interface ParseResult {
    readonly data: string[][];
    readonly errors: readonly { readonly code: string; readonly row?: number }[];
  }
  const Papa: {
    parse(text: string, config: { readonly delimiter: string; readonly skipEmptyLines: boolean }): ParseResult;
  };
  export default Papa;
}
