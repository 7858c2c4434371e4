/** A validating reader of value change dumps, from the rules of IEEE Std 1364-2005 clause 18; shares nothing with the writer. */

export interface VcdVariable {
  readonly type: string;
  readonly width: number;
  readonly id: string;
  /** As written, an escaped identifier without its backslash; scopes joined by `/`. */
  readonly name: string;
}
export interface VcdChange {
  readonly t: number;
  readonly id: string;
  readonly value: string;
}
export interface Vcd {
  readonly timescale: string;
  readonly variables: readonly VcdVariable[];
  readonly changes: readonly VcdChange[];
  readonly end: number;
}

const VAR_TYPES = new Set(
  'event integer parameter real realtime reg supply0 supply1 time tri triand trior trireg tri0 tri1 wand wire wor'.split(
    ' ',
  ),
);
const SCOPES = new Set(['module', 'task', 'function', 'begin', 'fork']);
const SIMPLE = /^[A-Za-z_][A-Za-z0-9_$]*$/;
const CODE = /^[!-~]+$/;

class Reader {
  private readonly tokens: string[];
  private at = 0;
  constructor(text: string) {
    this.tokens = text.split(/[ \t\r\n]+/).filter((t) => t !== '');
  }
  get done(): boolean {
    return this.at >= this.tokens.length;
  }
  next(): string {
    if (this.done) throw new Error('unexpected end of file');
    return this.tokens[this.at++];
  }
  /** Tokens up to `$end`. */
  section(): string[] {
    const found: string[] = [];
    for (let token = this.next(); token !== '$end'; token = this.next()) found.push(token);
    return found;
  }
  /** Like `section`, for the sections that hold no free text: a keyword inside means that `$end` is missing. */
  strictSection(): string[] {
    const found = this.section();
    if (found.some((t) => /^\$[a-z]+$/.test(t))) throw new Error('$end is missing');
    return found;
  }
}

/** Reads a dump; throws with the rule that it breaks. */
export function readVcd(text: string): Vcd {
  const reader = new Reader(text);
  const variables = new Map<string, VcdVariable>();
  const timescale = readHeader(reader, variables);
  const changes: VcdChange[] = [];
  const end = readData(reader, variables, changes);
  return { timescale, variables: [...variables.values()], changes, end };
}

function readHeader(reader: Reader, variables: Map<string, VcdVariable>): string {
  const scopes: string[] = [];
  let timescale = '';
  for (;;) {
    if (reader.done) throw new Error('$enddefinitions is missing');
    const keyword = reader.next();
    if (['$date', '$version', '$comment'].includes(keyword)) reader.section();
    else if (keyword === '$timescale') {
      timescale = reader.strictSection().join('');
      if (!/^(1|10|100)(s|ms|us|ns|ps|fs)$/.test(timescale)) throw new Error(`timescale ${timescale}`);
    } else if (keyword === '$scope') {
      const [type, name, ...more] = reader.strictSection();
      if (!SCOPES.has(type) || !SIMPLE.test(name ?? '') || more.length > 0) throw new Error(`scope ${type} ${name}`);
      scopes.push(name);
    } else if (keyword === '$upscope') {
      if (reader.strictSection().length > 0 || scopes.pop() === undefined) throw new Error('upscope');
    } else if (keyword === '$var') readVariable(reader.strictSection(), scopes, variables);
    else if (keyword === '$enddefinitions') {
      if (reader.strictSection().length > 0) throw new Error('enddefinitions');
      if (scopes.length > 0) throw new Error('scopes are not balanced');
      return timescale;
    } else throw new Error(`unknown keyword ${keyword}`);
  }
}

function readVariable(words: string[], scopes: readonly string[], variables: Map<string, VcdVariable>): void {
  const [type, width, id, reference, bits, ...more] = words;
  if (!VAR_TYPES.has(type)) throw new Error(`variable type ${type}`);
  if (!/^[1-9]\d*$/.test(width)) throw new Error(`width ${width}`);
  if (!CODE.test(id)) throw new Error(`identifier code ${id}`);
  const escaped = reference?.startsWith('\\') === true && /^[!-~]+$/.test(reference.slice(1));
  const simple = /^([A-Za-z_][A-Za-z0-9_$]*)(\[\d+(:\d+)?\])?$/.test(reference ?? '');
  if (!escaped && !simple) throw new Error(`reference ${reference}`);
  if (bits !== undefined && (!/^\[\d+(:\d+)?\]$/.test(bits) || more.length > 0)) throw new Error(`reference ${bits}`);
  if (variables.has(id) && variables.get(id)!.width !== Number(width)) throw new Error(`identifier ${id} twice`);
  const name = [...scopes, escaped ? reference.slice(1) : reference].join('/');
  variables.set(id, { type, width: Number(width), id, name });
}

function readData(reader: Reader, variables: ReadonlyMap<string, VcdVariable>, changes: VcdChange[]): number {
  let t = 0;
  let inGroup = false;
  const change = (id: string, value: string, digits: number) => {
    const variable = variables.get(id);
    if (!variable) throw new Error(`unknown identifier ${id}`);
    if (digits > variable.width) throw new Error(`value wider than ${id}`);
    changes.push({ t, id, value });
  };
  while (!reader.done) {
    const token = reader.next();
    if (token.startsWith('#')) {
      if (!/^#\d+$/.test(token)) throw new Error(`time ${token}`);
      if (Number(token.slice(1)) < t) throw new Error('time goes back');
      t = Number(token.slice(1));
    } else if (token === '$comment') reader.section();
    else if (['$dumpvars', '$dumpall', '$dumpon', '$dumpoff'].includes(token) && !inGroup) inGroup = true;
    else if (token === '$end' && inGroup) inGroup = false;
    else if (/^[01xXzZ]./.test(token)) change(token.slice(1), token[0], 1);
    else if (/^[bB][01xXzZ]+$/.test(token)) change(reader.next(), token.slice(1), token.length - 1);
    else if (/^[rR][+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/.test(token)) change(reader.next(), token.slice(1), 1);
    else throw new Error(`value ${token}`);
  }
  if (inGroup) throw new Error('$end is missing');
  return t;
}
