/** The part of markdown-it that tests use. */
declare module 'markdown-it' {
  interface Token {
    readonly type: string;
    readonly children: readonly Token[] | null;
  }
  export default class MarkdownIt {
    constructor(options?: { readonly html?: boolean; readonly linkify?: boolean });
    parse(text: string, env: object): readonly Token[];
    render(text: string): string;
  }
}
