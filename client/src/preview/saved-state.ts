/** What the preview page kept over a reload, read with tolerance: older, partial or damaged states are taken as far as they fit. */

export interface KeptPanel {
  /** Document that was shown; null where the state does not say. */
  readonly uri: string | null;
  readonly locked: boolean;
}

/** Reads the part of the page's state that the host needs; never throws. */
export function readKeptPanel(state: unknown): KeptPanel {
  if (typeof state !== 'object' || state === null) return { uri: null, locked: false };
  const { uri, locked } = state as Record<string, unknown>;
  return { uri: typeof uri === 'string' && uri !== '' ? uri : null, locked: locked === true };
}
