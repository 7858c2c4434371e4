/**
 * A reader of IEC 61131-3 structured text, as far as exported controllers use it, written from the standard's syntax alone: one
 * PROGRAM, variable sections, calls of standard function blocks, assignments of boolean expressions. It runs the program scan
 * by scan. Blocks are written from the standard's timing diagrams with elapsed times, not with the engine's running timers.
 */

type Token = { readonly text: string; readonly at: number };

function tokens(text: string): Token[] {
  const found: Token[] = [];
  const pattern = /\s+|\(\*[\s\S]*?\*\)|(T#[0-9a-z_]+|[A-Za-z_][A-Za-z0-9_]*|[0-9]+|:=|[():;,.])/gy;
  let at = 0;
  while (at < text.length) {
    pattern.lastIndex = at;
    const match = pattern.exec(text);
    if (!match) throw new Error(`unexpected ${JSON.stringify(text.slice(at, at + 20))} at ${at}`);
    if (match[1] !== undefined) found.push({ text: match[1], at });
    at = pattern.lastIndex;
  }
  return found;
}

type Expr = (vars: Map<string, boolean>) => boolean;
type Statement =
  | { readonly kind: 'assign'; readonly to: string; readonly value: Expr }
  | { readonly kind: 'take'; readonly to: string; readonly block: string; readonly pin: string }
  | { readonly kind: 'call'; readonly block: string; readonly pins: ReadonlyMap<string, Expr | string> };

interface Variable {
  readonly type: string;
  readonly section: string;
  readonly initial: string | null;
}

export interface StProgram {
  readonly name: string;
  readonly inputs: readonly string[];
  readonly outputs: readonly string[];
  /** One scan at `us`; gives the variables after it. */
  scan(us: number, inputs: ReadonlyMap<string, boolean>): ReadonlyMap<string, boolean>;
}

/** Microseconds of a duration literal such as `T#1s800ms`. */
function duration(literal: string): number {
  const units: Record<string, number> = { us: 1, ms: 1_000, s: 1_000_000, m: 60_000_000, h: 3_600_000_000 };
  const body = literal.slice(2);
  if (!/^([0-9]+(us|ms|s|m|h))+$/.test(body)) throw new Error(`no duration: ${literal}`);
  return [...body.matchAll(/([0-9]+)(us|ms|s|m|h)/g)].reduce((sum, [, n, unit]) => sum + Number(n) * units[unit], 0);
}

class Reader {
  private at = 0;
  constructor(private readonly list: readonly Token[]) {}

  peek(): string {
    return this.list[this.at]?.text ?? '';
  }
  take(expected?: string): string {
    const text = this.peek();
    if (expected !== undefined && text !== expected) throw new Error(`expected ${expected}, found ${text}`);
    this.at++;
    return text;
  }
  name(): string {
    const text = this.take();
    if (!/^[A-Za-z_][A-Za-z0-9_]*$/.test(text) || /__|_$/.test(text)) throw new Error(`no identifier: ${text}`);
    return text.toUpperCase();
  }

  /** OR below XOR below AND below NOT, as the standard ranks them. */
  expression(): Expr {
    return this.binary('OR', () => this.binary('XOR', () => this.binary('AND', () => this.unary())));
  }
  private binary(word: 'OR' | 'XOR' | 'AND', next: () => Expr): Expr {
    let left = next();
    while (this.peek() === word) {
      this.take();
      const [a, b] = [left, next()];
      left = word === 'OR' ? (v) => a(v) || b(v) : word === 'AND' ? (v) => a(v) && b(v) : (v) => a(v) !== b(v);
    }
    return left;
  }
  private unary(): Expr {
    if (this.peek() === 'NOT') {
      this.take();
      const inner = this.unary();
      return (v) => !inner(v);
    }
    if (this.peek() === '(') {
      this.take();
      const inner = this.expression();
      this.take(')');
      return inner;
    }
    const word = this.take();
    if (word === 'TRUE' || word === 'FALSE') return () => word === 'TRUE';
    const name = word.toUpperCase();
    return (v) => {
      const value = v.get(name);
      if (value === undefined) throw new Error(`undeclared ${name}`);
      return value;
    };
  }
}

interface BlockState {
  clk: boolean;
  q: boolean;
  since: number | null;
  count: number;
}

function run(type: string, s: BlockState, us: number, pin: (name: string) => boolean, pt: number, pv: number): boolean {
  switch (type) {
    case 'TON': {
      const input = pin('IN');
      s.since = input ? (s.since ?? us) : null;
      return input && us - s.since! >= pt;
    }
    case 'TOF': {
      const input = pin('IN');
      if (input) s.since = null;
      else if (s.clk) s.since = us;
      s.clk = input;
      return input || (s.since !== null && us - s.since < pt);
    }
    case 'TP': {
      const input = pin('IN');
      if (s.since !== null && us - s.since >= pt) s.since = null;
      // A pulse that ends in this scan and a rise in the same scan: the rise came while the pulse was on.
      else if (s.since === null && input && !s.clk && pt > 0) s.since = us;
      s.clk = input;
      return s.since !== null;
    }
    case 'R_TRIG':
    case 'F_TRIG': {
      const clk = type === 'R_TRIG' ? pin('CLK') : !pin('CLK');
      const rise = clk && !s.clk;
      s.clk = clk;
      return rise;
    }
    case 'SR':
      return pin('S1') || (!pin('R') && s.q);
    case 'RS':
      return !pin('R1') && (pin('S') || s.q);
    case 'CTU':
    case 'CTU_DINT': {
      const most = type === 'CTU' ? 2 ** 15 - 1 : 2 ** 31 - 1;
      if (pv > most) throw new Error(`${type} counts to ${most} only, not ${pv}`);
      const cu = pin('CU');
      if (pin('R')) s.count = 0;
      else if (cu && !s.clk && s.count < most) s.count++;
      s.clk = cu;
      return s.count >= pv;
    }
    default:
      throw new Error(`no such block: ${type}`);
  }
}

/** Reads a program; throws with a sentence where the text is not of the standard's form. */
export function readStructuredText(text: string): StProgram {
  const reader = new Reader(tokens(text));
  reader.take('PROGRAM');
  const name = reader.name();
  const variables = new Map<string, Variable>();
  while (reader.peek().startsWith('VAR')) {
    let section = reader.take();
    if (reader.peek() === 'CONSTANT') section = `${section} ${reader.take()}`;
    while (reader.peek() !== 'END_VAR') {
      const variable = reader.name();
      if (variables.has(variable)) throw new Error(`declared twice: ${variable}`);
      reader.take(':');
      const type = reader.take();
      const initial = reader.peek() === ':=' ? (reader.take(), reader.take()) : null;
      reader.take(';');
      variables.set(variable, { type, section, initial });
    }
    reader.take('END_VAR');
  }
  const statements: Statement[] = [];
  while (reader.peek() !== 'END_PROGRAM') statements.push(statement(reader, variables));
  reader.take('END_PROGRAM');
  if (reader.peek() !== '') throw new Error('text after END_PROGRAM');
  const of = (section: string) => [...variables].filter(([, v]) => v.section === section).map(([n]) => n);
  return { name, inputs: of('VAR_INPUT'), outputs: of('VAR_OUTPUT'), scan: runner(variables, statements) };
}

function statement(reader: Reader, variables: ReadonlyMap<string, Variable>): Statement {
  const target = reader.name();
  if (!variables.has(target)) throw new Error(`undeclared ${target}`);
  if (reader.peek() === '(') {
    reader.take('(');
    const pins = new Map<string, Expr | string>();
    while (reader.peek() !== ')') {
      const pin = reader.name();
      reader.take(':=');
      pins.set(pin, pin === 'PT' || pin === 'PV' ? reader.take() : reader.expression());
      if (reader.peek() === ',') reader.take();
    }
    reader.take(')');
    reader.take(';');
    return { kind: 'call', block: target, pins };
  }
  reader.take(':=');
  const mark = reader.peek().toUpperCase();
  const type = variables.get(mark)?.type;
  if (type !== undefined && type !== 'BOOL') {
    reader.take();
    reader.take('.');
    const pin = reader.name();
    reader.take(';');
    return { kind: 'take', to: target, block: mark, pin };
  }
  const value = reader.expression();
  reader.take(';');
  return { kind: 'assign', to: target, value };
}

const Q_OF: Record<string, string> = { SR: 'Q1', RS: 'Q1' };

function runner(variables: ReadonlyMap<string, Variable>, statements: readonly Statement[]): StProgram['scan'] {
  const values = new Map<string, boolean>();
  const blocks = new Map<string, BlockState>();
  const times = new Map<string, number>();
  for (const [name, v] of variables) {
    if (v.type === 'BOOL') values.set(name, v.initial === 'TRUE');
    else if (v.type === 'TIME') times.set(name, duration(v.initial!));
    else blocks.set(name, { clk: false, q: false, since: null, count: 0 });
  }
  const number = (of: Expr | string | undefined, otherwise: number): number => {
    if (typeof of !== 'string') return otherwise;
    const named = times.get(of.toUpperCase());
    if (named !== undefined) return named;
    return of.startsWith('T#') ? duration(of) : Number(of);
  };
  return (us, inputs) => {
    for (const [name, value] of inputs) values.set(name, value);
    for (const s of statements) {
      if (s.kind === 'assign') values.set(s.to, s.value(values));
      else if (s.kind === 'take') {
        const type = variables.get(s.block)!.type;
        if (s.pin !== (Q_OF[type] ?? 'Q')) throw new Error(`${type} has no output ${s.pin}`);
        values.set(s.to, blocks.get(s.block)!.q);
      } else {
        const type = variables.get(s.block)!.type;
        const state = blocks.get(s.block)!;
        const pin = (name: string): boolean => {
          const value = s.pins.get(name);
          if (typeof value !== 'function') throw new Error(`${type} needs ${name}`);
          return value(values);
        };
        state.q = run(type, state, us, pin, number(s.pins.get('PT'), 0), number(s.pins.get('PV'), 0));
      }
    }
    return values;
  };
}
