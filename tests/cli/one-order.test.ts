/** Text, JSON, SARIF, JUnit and the editor list the findings of a rig in one order, causes before what may follow from them. */
import { describe, expect, it } from 'vitest';
import type { Diagnostic } from 'vscode-languageserver';
import { PULL_CLIENT, startSession, FULL_CLIENT } from '../lsp/session';
import { run } from './run';

const HALL = (upper: string, lower: string): string => `rig hall {
  medium air
  chamber line  { volume 3 m3  pressure 1 bar  limit 5 bar }
  chamber store { volume 2 m3  pressure 1 bar  limit 6 bar }
  door upper  { pocket 60 L  travel 300 ms }
  door middle { pocket 60 L  travel 300 ms }
  door lower  { pocket 60 L  travel 300 ms }
  stack line > upper > middle > lower > store
  feed fan into line { rate 0.4 kg/s }
  controller { response 20 ms }
  sensor full on line { pressure above 3 bar  clears below 2 bar }
  signal upper_on = ${upper}
  signal middle_on = TP(TON(full, 500 ms), 2 s)
  signal lower_on = ${lower}
  drive upper = upper_on
  drive middle = middle_on
  drive lower = lower_on
  require overlap(upper, middle) >= 5 s
}
`;

/** Each with a cause that stands below what follows from it in the text. */
const RIGS: Readonly<Record<string, string>> = {
  'a path straight through': HALL('TP(full, 2 s)', 'TP(TON(full, 1 s), 2 s)'),
  'a timer that never runs out': HALL('TP(full, 2 s)', 'TP(TON(TP(full, 1 s), 2 s), 1 s)'),
  'a door driven too short': HALL('TP(full, 200 ms)', 'TP(TON(full, 2 s), 2 s)'),
};

/** `code line`, in the order listed. */
type Rows = string[];

const ofText = (out: string): Rows =>
  [...out.matchAll(/^hall\.rig:(\d+):\d+: \w+ (\S+):/gm)].map((m) => `${m[2]} ${m[1]}`);

interface Listed {
  readonly findings: readonly {
    readonly code: string;
    readonly severity: string;
    readonly start: { readonly line: number; readonly column: number };
    readonly related: readonly { readonly cause?: string; readonly start: { readonly line: number } }[];
  }[];
}
interface Log {
  readonly runs: readonly [
    {
      readonly results: readonly {
        readonly ruleId: string;
        readonly locations: readonly [
          { readonly physicalLocation: { readonly region: { readonly startLine: number } } },
        ];
      }[];
    },
  ];
}

const ofSarif = (out: string): Rows =>
  (JSON.parse(out) as Log).runs[0].results.map(
    (r) => `${r.ruleId} ${r.locations[0].physicalLocation.region.startLine}`,
  );
const ofJunit = (out: string): Rows => [...out.matchAll(/name="(\S+) at (\d+):\d+"/g)].map((m) => `${m[1]} ${m[2]}`);
const ofEditor = (items: readonly Diagnostic[]): Rows =>
  items.map((d) => `${String(d.code)} ${d.range.start.line + 1}`);

describe.each(Object.entries(RIGS))('findings about %s', (_, text) => {
  const check = async (format: string): Promise<string> =>
    (await run(['check', '--format', format, 'hall.rig'], { 'hall.rig': text })).out;

  it('come in the same order everywhere', async () => {
    const rows = ofText(await check('text'));
    const { findings } = JSON.parse(await check('json')) as Listed;
    expect(rows.length).toBeGreaterThan(2);
    expect(findings.map((f) => `${f.code} ${f.start.line}`)).toEqual(rows);
    expect(ofSarif(await check('sarif'))).toEqual(rows);
    // JUnit has failures only: errors and warnings.
    const failures = findings.filter((f) => f.severity === 'error' || f.severity === 'warning');
    expect(ofJunit(await check('junit'))).toEqual(failures.map((f) => `${f.code} ${f.start.line}`));

    for (const capabilities of [PULL_CLIENT, FULL_CLIENT]) {
      const session = await startSession({ capabilities });
      const uri = 'file:///hall.rig';
      session.open(uri, text);
      // A first answer may come before flow is computed; the second one is whole.
      const pull = async () =>
        (await session.ask<{ items?: Diagnostic[] }>('textDocument/diagnostic', { textDocument: { uri } })).items ?? [];
      if (capabilities === PULL_CLIENT) await pull();
      const items =
        capabilities === PULL_CLIENT
          ? await pull()
          : (await session.diagnostics(uri, (p) => p.diagnostics.length === rows.length)).diagnostics;
      expect(ofEditor(items)).toEqual(rows);
      await session.close();
    }
  });

  it('come after their causes, and name them', async () => {
    const { findings } = JSON.parse(await check('json')) as Listed;
    const place = (code: string, line: number): number =>
      findings.findIndex((f) => f.code === code && f.start.line === line);
    const pairs = findings.flatMap((f, i) =>
      f.related.flatMap((r) => (r.cause === undefined ? [] : [[place(r.cause, r.start.line), i] as const])),
    );
    expect(pairs.length).toBeGreaterThan(0);
    for (const [cause, consequence] of pairs) {
      expect(cause).toBeGreaterThanOrEqual(0);
      expect(cause).toBeLessThan(consequence);
    }
    const junit = await check('junit');
    expect(junit).toMatch(/It may follow from \S+ here\.<\/failure>/);
  });
});
