/** Names of a rig as identifiers of another language: ASCII, unique, no keyword; with the map from one to the other. */

export interface IdentifierRules {
  /** Words that must not be used. */
  readonly reserved: ReadonlySet<string>;
  /** Whether `Door` and `door` are one name. */
  readonly foldsCase: boolean;
  /** Longest identifier. */
  readonly longest: number;
}

export interface Identifiers {
  /** The identifier of a name; the same name always gets the same one. */
  of(name: string): string;
  /** An identifier for something that has no name in the rig, such as a block's instance; not listed as changed. */
  made(stem: string): string;
  /** Names that had to be changed, in order of first use, as `[name, identifier]`. */
  changed(): readonly (readonly [string, string])[];
}

/** ASCII letters, digits and single underscores, beginning with a letter. */
function plain(name: string): string {
  const ascii = name
    .normalize('NFKD')
    .replace(/[\u0300-\u036f]/g, '')
    .replace(/[^A-Za-z0-9]+/g, '_')
    .replace(/^_+|_+$/g, '');
  return /^[A-Za-z]/.test(ascii) ? ascii : `n_${ascii}`.replace(/_$/, '');
}

/** An empty map; names get their identifiers in the order in which they are asked for. */
export function createIdentifiers(rules: IdentifierRules): Identifiers {
  const given = new Map<string, string>();
  const makeshift = new Map<string, string>();
  const taken = new Set<string>();
  const fold = (text: string) => (rules.foldsCase ? text.toUpperCase() : text);
  const reserved = new Set([...rules.reserved].map(fold));
  const free = (text: string) => !taken.has(fold(text)) && !reserved.has(fold(text));

  function choose(name: string): string {
    const stem = plain(name).slice(0, rules.longest);
    if (free(stem)) return stem;
    for (let k = 2; ; k++) {
      const suffix = `_${k}`;
      const candidate = stem.slice(0, rules.longest - suffix.length) + suffix;
      if (free(candidate)) return candidate;
    }
  }

  function take(into: Map<string, string>, name: string): string {
    const known = into.get(name);
    if (known !== undefined) return known;
    const chosen = choose(name);
    into.set(name, chosen);
    taken.add(fold(chosen));
    return chosen;
  }

  return {
    of: (name) => take(given, name),
    made: (stem) => take(makeshift, stem),
    changed: () => [...given].filter(([name, identifier]) => name !== identifier),
  };
}
