/** Stands in for `vscode.l10n` of an editor in English. */
export const l10n = {
  bundle: undefined,
  t: (text: string, ...values: readonly unknown[]): string =>
    text.replace(/\{(\d+)\}/g, (_, index: string) => String(values[Number(index)])),
};
