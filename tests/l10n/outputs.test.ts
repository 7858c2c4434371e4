/**
 * What the editor shows of whole rigs is said through the bundle: in a made-up language whose words are all signs, no output of a sample
 * leaves an English word, only names and titles of its own text, words of the language of rigs, units and codes.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { pictureOf, type Panel } from '../../server/core/diagram/pictures';
import { suggest } from '../../server/core/document/tune';
import { quickFixes } from '../../server/core/features/code-actions';
import { suggestionsAt } from '../../server/core/features/completion';
import { hoverAt } from '../../server/core/features/hover';
import { inlayHints } from '../../server/core/features/inlay-hints';
import { lenses } from '../../server/core/features/code-lens';
import { signatureAt } from '../../server/core/features/signature-help';
import { comparedPictures } from '../../server/core/report/readings-pictures';
import { compareLog } from '../../server/core/readings/compare';
import { diagnose } from '../../server/core/readings/diagnose';
import { readLog } from '../../server/core/readings/log-csv';
import { stimulusOf } from '../../server/core/readings/stimulus';
import { diffRigs, type DiffSide } from '../../server/core/report/diff';
import { diffTables } from '../../server/core/report/diff-tables';
import { pageMarkdown } from '../../server/core/report/page/markdown';
import { sheetWork } from '../../server/core/report/sheet/sheet';
import { suggestionTable, tuneNotes } from '../../server/core/report/tune-report';
import { speak } from '../../server/core/words/say';
import { finish } from '../../server/core/work/work';
import { seededRandom } from '../../server/core/timing/tolerance';
import { documentOf } from '../features/support';
import { SIGNS, strangeWords } from './signs';
import { ROOT } from './sources';

const SAMPLES = join(ROOT, 'samples');
/** Without comments: they are shown as they are written. */
const read = (file: string): string => readFileSync(join(SAMPLES, file), 'utf8').replace(/^#.*\n|[ \t]+#.*$/gm, '');
const files = readdirSync(SAMPLES).filter((f) => f.endsWith('.rig'));

beforeAll(() => speak(SIGNS));
afterAll(() => speak());

/** Each strange word of some texts, with the first text it stands in. */
function remnants(texts: readonly (string | null | undefined)[], sample: string): string[] {
  const found = new Map<string, string>();
  for (const text of texts)
    for (const word of strangeWords(text ?? '', sample))
      if (!found.has(word)) found.set(word, text!.trim().slice(0, 160));
  return [...found].map(([word, text]) => `${word}: ${text}`);
}

/** Text of an SVG picture: what is drawn, and what is read out. */
const textOfSvg = (svg: string | null): string[] =>
  [
    ...(svg ?? '').replace(/<style[\s\S]*?<\/style>/g, '').matchAll(/>([^<>]+)</g),
    ...(svg ?? '').matchAll(/aria-label="([^"]*)"/g),
  ].map((m) => m[1]!.replace(/&[a-z]+;|&#\d+;/g, ' '));

const OPTIONS = { starts: 2, runs: 300, trials: 40, states: 0, random: () => seededRandom(1) };
/** Every text inside plain data. */
const flatTexts = (data: unknown): string[] =>
  typeof data === 'string' ? [data] : data && typeof data === 'object' ? Object.values(data).flatMap(flatTexts) : [];

const PANELS: readonly Panel[] = ['timing', 'section', 'store', 'wiring'];

describe.each(files)('%s', (file) => {
  const text = read(file);
  // Read in the language of the test, so not before it begins.
  const document = (): ReturnType<typeof documentOf> => documentOf(text, { 'parts/common.rig': '' });

  it('hovers, completions, signatures and hints', () => {
    const doc = document();
    doc.verdicts();
    const starts = [...text.matchAll(/(?<![\w#"])[\p{L}_][\w.]*/gu)].map((m) => m.index);
    const seen: (string | undefined)[] = [];
    for (const at of starts) {
      // Where the factor of a unit comes from is a citation.
      seen.push(
        hoverAt(doc, at, { causes: true })?.text.replace(/\n\n(SI Brochure|NIST|exact from|over the standard).*$/s, ''),
      );
      seen.push(signatureAt(doc, at)?.documentation);
      for (const s of suggestionsAt(doc, at, { snippets: true, importable: [], afterBlank: false }))
        seen.push(s.kind === 'unit' ? s.detail : s.documentation, s.kind === 'keyword' ? '' : s.detail);
    }
    const whole = { start: 0, end: text.length };
    for (const hint of inlayHints(doc, whole, { drives: true, timers: true, requirements: true }))
      seen.push(hint.label, hint.explanation);
    seen.push(...lenses(doc).map((lens) => lens.title));
    expect(remnants([...new Set(seen)], text)).toEqual([]);
  });

  it('build sheet and faults', () => {
    for (const facts of document().analysed()) {
      const page = pageMarkdown(finish(sheetWork(facts)));
      expect(remnants(page.split(/[\n|]/), text)).toEqual([]);
    }
  });

  it.each(PANELS)('picture: %s', (panel) => {
    for (const facts of document().analysed())
      for (const stroke of facts.timing.strokes.slice(0, 1))
        for (const curves of panel === 'store'
          ? (['run', 'stroke', 'gain', 'volume'] as const)
          : ([undefined] as const)) {
          const svg = pictureOf(facts, panel, { look: 'light', width: 900, stroke, ...(curves ? { curves } : {}) });
          expect(remnants(textOfSvg(svg), text)).toEqual([]);
        }
  });
});

describe('answers about one rig', () => {
  const text = read('digester_bank.rig');

  it('readings compared and explained', () => {
    const facts = documentOf(text).analysed()[0]!;
    const reading = readLog(facts.rig, readFileSync(join(SAMPLES, 'logs/digester_first_day.csv'), 'utf8'));
    if (!reading.ok) throw new Error(reading.problems[0]!.message);
    const stimulus = stimulusOf(facts.rig, facts.timing, reading.log, null)!;
    const compared = compareLog(facts, reading.log, stimulus);
    const shown = comparedPictures(facts, reading.log, stimulus, compared);
    const said = [
      shown.summary,
      ...shown.deviations.flat(),
      ...shown.notes,
      ...shown.edges.map((e) => e.text),
      diagnose(facts.rig, reading.log, stimulus).summary,
    ];
    expect(remnants(said, text)).toEqual([]);
  });

  it('tuner', () => {
    const sample = read('poor/harbour_lift.rig');
    const found = suggest(documentOf(sample), 0, { free: [], allPresets: false, step: 10_000 }, OPTIONS);
    expect(found.ok).toBe(true);
    expect(
      remnants(
        found.ok ? [...tuneNotes(found.answer), ...flatTexts(suggestionTable(found.answer, [], () => 1))] : [],
        sample,
      ),
    ).toEqual([]);
  });

  it('difference of two versions', () => {
    const side = (t: string): DiffSide => {
      const document = documentOf(t);
      return { facts: document.analysed()[0]!, problems: document.problems() };
    };
    const tables = diffTables(
      diffRigs(side(text), side(text.replace(/(\d) s\b/, '$1.3 s').replace('door upper', 'door top'))),
    );
    expect(tables.length).toBeGreaterThan(0);
    // A gate of its own has its formula, in which a missing input is `false`.
    expect(
      remnants(
        tables.flatMap((t) => [t.caption, ...t.columns, ...t.rows.flat()]),
        `${text} top false`,
      ),
    ).toEqual([]);
  });

  it('quick fixes of the broken samples', () => {
    for (const broken of readdirSync(join(SAMPLES, 'broken')).filter((f) => f.endsWith('.rig'))) {
      const sample = read(`broken/${broken}`);
      const titles = quickFixes(documentOf(sample), { start: 0, end: sample.length }).map((fix) => fix.title);
      expect(remnants(titles, sample)).toEqual([]);
    }
  });
});
