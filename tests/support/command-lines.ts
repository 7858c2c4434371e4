/** What every command of the command line is asked of a rig: one entry a command, so that a new one cannot be forgotten where all are walked. */

/** Words after `caisson`; `rig` and `log` are paths. */
type Line = (rig: string, log: string) => readonly string[];

/** Commands that take a rig, each with what is asked of it. */
export const LINES: Readonly<Record<string, readonly Line[]>> = {
  check: [(rig) => ['check', rig], (rig) => ['check', '--values', '--show-fixes', rig]],
  ask: [(rig) => ['ask', rig, 'repeat()', 'opens_at(d0)']],
  timing: [(rig) => ['timing', rig]],
  trace: [(rig) => ['trace', rig, '--out', '.cache/walk/trace.csv']],
  diagram: ['timing', 'section', 'store', 'wiring'].map((panel) => (rig) => [
    'diagram',
    rig,
    '--panel',
    panel,
    '--out',
    '.cache/walk/picture.svg',
  ]),
  flow: [(rig) => ['flow', rig]],
  tolerance: [(rig) => ['tolerance', rig]],
  tune: [(rig) => ['tune', rig]],
  explore: [(rig) => ['explore', rig, '--vary', 'wait=2 s..4 s/1 s', '--measure', 'least repeat()', '--workers', '1']],
  wire: [(rig) => ['wire', rig], (rig) => ['wire', '--suggest', rig]],
  size: [(rig) => ['size', rig, '--target', 'c1 1.5 bar in 20 min']],
  prove: [(rig) => ['prove', rig, '--states', '2000']],
  fit: [(rig, log) => ['fit', rig, log]],
  compare: [(rig, log) => ['compare', rig, log]],
  diagnose: [(rig, log) => ['diagnose', rig, log]],
  faults: [(rig) => ['faults', rig]],
  format: [(rig) => ['format', '--check', rig]],
  sheet: [(rig) => ['sheet', rig, '--out', '.cache/walk/sheet.md']],
  report: [(rig) => ['report', rig, '--out', '.cache/walk/report.html']],
  diff: [(rig) => ['diff', rig, rig]],
  export: ['c', 'st', 'verilog', 'dot'].map((to) => (rig) => [
    'export',
    rig,
    '--to',
    to,
    '--out',
    '.cache/walk/export',
  ]),
};

/** Commands that take no rig. */
export const WITHOUT_RIG: readonly string[] = ['new', 'explain', 'completion', 'serve'];
