/** The same question asked of every output of one rig; what two of them answer differently. */
import type { RigDocument } from '../../server/core/document/document';
import { createDocument } from '../../server/core/document/document';
import { timingModels } from '../../server/core/diagram/timing/model';
import { withinTolerance } from '../../server/core/metrics/within-tolerance';
import { evaluateRequirement } from '../../server/core/metrics/evaluate';
import type { Verdict } from '../../server/core/metrics/verdict';
import { doorsNamed } from '../../server/core/model/logic';
import { pathsToKeepShut } from '../../server/core/model/intent';
import type { Requirement, Rig } from '../../server/core/model/rig';
import { sheetOf } from '../../server/core/report/sheet/sheet';
import { timingJson } from '../../server/core/report/timing-json';
import { timingTable } from '../../server/core/report/timing-table';
import { startOptions } from '../../server/core/run/analyse';
import type { RigFacts } from '../../server/core/run/facts';
import { proveRig, type RigProof } from '../../server/core/run/prove-rig';
import { analyseTiming } from '../../server/core/timing/analyse';
import { leavesAt } from '../../server/core/timing/course';
import { traceScenario } from '../../server/core/timing/scenario';
import { looseTimes } from '../../server/core/timing/tolerance';
import type { TimeChoice } from '../../server/core/timing/program';
import { formatTime } from '../../server/core/units/units';
import { seeded, type Random } from '../support/random';
import { askEditor } from './ask-editor';

export interface Asked {
  /** One sentence a contradiction. */
  readonly contradictions: readonly string[];
  /** How many questions were answered by two outputs or more. */
  readonly compared: number;
}

export interface Effort {
  /** Symbolic states of the proof. */
  readonly states: number;
  /** Runs with times drawn from their tolerances. */
  readonly samples: number;
}

/** Compares everything that is said about every rig of a text. */
export function askAll(text: string, seed: number, effort: Effort, readText = (): undefined => undefined): Asked {
  const document = createDocument({ uri: 'file:///rig.rig', version: 1, text }, readText);
  const asker = new Asker();
  document.analysed().forEach((facts, rig) => {
    if (facts.rig.incomplete?.length || facts.timing.incomplete !== null || facts.timing.atRest.loop) return;
    asker.rig = facts.rig.name;
    askRig(asker, document, facts, rig, seed, effort);
  });
  return { contradictions: asker.contradictions, compared: asker.compared };
}

class Asker {
  rig = '';
  readonly contradictions: string[] = [];
  compared = 0;
  /** `fine` is false where two outputs contradict each other. */
  that(fine: boolean, sentence: string): void {
    this.compared++;
    if (!fine) this.contradictions.push(`${this.rig}: ${sentence}`);
  }
}

function askRig(ask: Asker, document: RigDocument, facts: RigFacts, rig: number, seed: number, effort: Effort): void {
  const proof = proveRig(facts.rig);
  for (let left = effort.states; left > 0 && !proof.proof.run(Math.min(left, 500)); left -= 500);
  askPaths(ask, document, facts, proof);
  askRest(ask, document, facts, proof);
  askRequirements(ask, document, facts, proof);
  askPictures(ask, facts);
  askTraces(ask, facts);
  askOpenings(ask, facts);
  askPairs(ask, facts);
  askSheet(ask, facts);
  askEditor((fine, sentence) => ask.that(fine, sentence), document, facts);
  askOnly(ask, proof, effort);
  askFlow(ask, facts);
  askTolerance(ask, facts, seeded(seed + rig), effort.samples);
}

const codesOf = (document: RigDocument, facts: RigFacts): string[] =>
  document
    .problems()
    .filter(({ at }) => at.start >= facts.rig.whole.start && at.end <= facts.rig.whole.end)
    .map(({ code }) => code);

const verdictOf = ({ proof }: RigProof, kind: string): { name: string; state: string }[] =>
  proof
    .results()
    .filter(({ property }) => property.kind === kind)
    .map(({ property, verdict }) => ({ name: property.name, state: verdict.state }));

/** Paths straight through: facts, check, table, JSON, picture and proof. */
function askPaths(ask: Asker, document: RigDocument, facts: RigFacts, proof: RigProof): void {
  const open = facts.timing.strokes.some((s) => s.straightThrough.some((p) => p.intervals.length > 0));
  const codes = codesOf(document, facts);
  ask.that(codes.includes('door/straight-through') === open, 'check and timing differ on straight through');
  const table = timingTable(facts).some((line) => line.includes('STRAIGHT THROUGH'));
  ask.that(table === open, 'the table and the facts differ on straight through');
  const json = timingJson(facts).triggers.some((t) => t.straightThrough.length > 0);
  ask.that(json === open, 'the JSON and the facts differ on straight through');
  const bands = timingModels({ ...facts, rig: { ...facts.rig, scenarios: [] } }).some((m) => m.bands.length > 0);
  if (facts.timing.strokes.length > 0) ask.that(bands === open, 'picture and check differ on straight through');
  facts.timing.strokes.forEach((stroke) =>
    stroke.straightThrough.forEach(({ path, intervals }) => {
      const result = proof.proof
        .results()
        .find(({ property: p }) => p.kind === 'straight-through' && p.doors.join() === path.doors.join());
      ask.that(result !== undefined, 'the proof does not ask for a path that timing follows');
      if (intervals.length > 0)
        ask.that(result?.verdict.state !== 'proved', 'a path that a stroke opens is proved shut');
      if (result?.verdict.state === 'proved')
        ask.that(
          !codes.includes('loss/switch') || !openedBySwitch(facts, path.doors),
          'loss/switch finds a path that is proved shut',
        );
    }),
  );
}

const openedBySwitch = ({ timing }: RigFacts, doors: readonly number[]): boolean =>
  timing.behaviours.some(
    (b) => b.situation === 'switch' && b.straightThrough.some((s) => s.path.doors.join() === doors.join()),
  );

/** Power loss and doors at rest: check and proof. */
function askRest(ask: Asker, document: RigDocument, facts: RigFacts, proof: RigProof): void {
  const codes = codesOf(document, facts);
  const allRestOpen = pathsToKeepShut(facts.rig).some((p) => p.doors.every((d) => facts.rig.doors[d]!.rest === 'open'));
  if (allRestOpen) {
    ask.that(codes.includes('loss/power'), 'doors that all rest open are no loss/power');
    ask.that(
      verdictOf(proof, 'power-loss').some((v) => v.state !== 'proved'),
      'a path of doors that rest open is proved shut without power',
    );
  }
  for (const door of facts.timing.atRest.openDoors) {
    const name = facts.rig.doors[door]!.name;
    const left = verdictOf(proof, 'left-open').find((v) => v.name === `${name} not left open at rest`);
    if (left) ask.that(left.state !== 'proved', `${name} stands open at rest and is proved shut`);
    const isReported = document
      .problems()
      .some((p) => p.code === 'door/left-open' && p.message.startsWith(`${name} stands open`));
    ask.that(
      isReported === (left !== undefined),
      `${name} stands open at rest: check and proof differ on whether it is left open`,
    );
  }
}

const ALWAYS = new Set(['never', 'gap', 'order']);

/** Requirements: check, verdict and proof. */
function askRequirements(ask: Asker, document: RigDocument, facts: RigFacts, { proof, requirementOf }: RigProof): void {
  const codes = codesOf(document, facts);
  const verdicts = facts.rig.requirements.map((r) => evaluateRequirement(facts, r));
  const failed = verdicts.filter((v) => v.state === 'failed').length;
  ask.that(codes.filter((c) => c === 'require/failed').length === failed, 'check and verdicts differ on what fails');
  proof.results().forEach(({ property, verdict }, k) => {
    const requirement = facts.rig.requirements[requirementOf[k] ?? -1];
    if (!requirement || !ALWAYS.has(requirement.metric) || verdict.state !== 'proved') return;
    // That a gap is not too long, or that events happen at all, is no question of always.
    if (requirement.metric === 'order' && verdicts[requirementOf[k]!]!.found.includes('never')) return;
    ask.that(
      !breaksAlways(verdicts[requirementOf[k]!]!, requirement),
      `${property.name} fails in a stroke and is proved`,
    );
  });
}

function breaksAlways(verdict: Verdict, { metric }: Requirement): boolean {
  if (verdict.state !== 'failed') return false;
  return metric !== 'order' || !/there is no moment|does not|never/.test(verdict.message.split(':').slice(1).join(':'));
}

/** Marks of the picture of each stroke: verdicts of overlap and gap. */
function askPictures(ask: Asker, facts: RigFacts): void {
  const [stroke, ...others] = facts.timing.strokes;
  if (!stroke || others.length > 0) return;
  const [model] = timingModels(facts);
  const named = (r: Requirement): string[] =>
    r.args.flatMap((a) => (a.kind === 'item' ? [`door:${a.name}`] : [])).sort();
  for (const requirement of facts.rig.requirements) {
    if (requirement.metric !== 'overlap') continue;
    const { state } = evaluateRequirement(facts, requirement);
    const marks = model!.marks.filter(
      (m) => m.kind === 'overlap' && m.lanes.every((l) => named(requirement).includes(l)),
    );
    const alone = facts.rig.requirements.filter(
      (r) => r !== requirement && named(r).join() === named(requirement).join(),
    );
    if (alone.length > 0 || marks.length === 0) continue;
    const short = marks.some((m) => m.verdict === 'short');
    ask.that(
      short === (state === 'failed'),
      `${requirement.text} is ${state}, the picture shows ${short ? 'a fault' : 'none'}`,
    );
  }
}

/** The trace of the trigger alone is the stroke's. */
function askTraces(ask: Asker, facts: RigFacts): void {
  const [stroke] = facts.timing.strokes;
  if (!stroke || stroke.trigger.kind !== 'sensor' || facts.timing.atRest.moves) return;
  const until = stroke.trace.end;
  const trace = traceScenario(facts.rig, null, until);
  const lines = (edges: typeof trace.edges): string =>
    edges
      .filter((e) => e.t >= 0 && e.t <= until)
      .map((e) => `${e.t} ${e.net} ${e.value}`)
      .join('\n');
  ask.that(lines(trace.edges) === lines(stroke.trace.edges), 'the trace of the trigger is another one than the stroke');
}

/** Openings that timing lists are openings of the trace; the picture has an edge at each of their moments. */
function askOpenings(ask: Asker, facts: RigFacts): void {
  const models = timingModels(facts);
  facts.timing.strokes.forEach((stroke, k) => {
    for (const { door, windows } of stroke.doors) {
      const { name } = facts.rig.doors[door]!;
      const lane = models[k]!.lanes.find((l) => l.id === `door:${name}`);
      for (const window of windows) {
        const { moves } = stroke.trace.doors[door]!;
        const leaves = leavesAt(window);
        const { to } = window.notShut;
        if (leaves !== null) {
          ask.that(
            moves.some((m) => m.to === 1 && m.t === leaves),
            `${name} opens at ${leaves} in no trace`,
          );
          ask.that(
            lane!.edges.some((e) => e.kind === 'opens' && e.t === leaves),
            `${name} opens at ${leaves} in no picture`,
          );
        }
        if (to === null) continue;
        ask.that(
          moves.some((m) => m.to === 0 && m.arrives === to),
          `${name} is shut at ${to} in no trace`,
        );
        ask.that(
          lane!.edges.some((e) => e.kind === 'shuts' && e.t === to),
          `${name} is shut at ${to} in no picture`,
        );
      }
    }
  });
}

/** The pair table has what a requirement about the pair is judged by. */
function askPairs(ask: Asker, facts: RigFacts): void {
  const [stroke, ...others] = facts.timing.strokes;
  if (!stroke || others.length > 0) return;
  for (const requirement of facts.rig.requirements) {
    if (requirement.metric !== 'overlap' && requirement.metric !== 'gap') continue;
    const doors = doorsNamed(facts.rig, requirement);
    const pair = stroke.pairs.find((p) => doors.every((d) => p.doors.includes(d)));
    const value = evaluateRequirement(facts, requirement).actual?.nominal;
    if (!pair || value === undefined) continue;
    const table = requirement.metric === 'overlap' ? pair.leastOverlap : pair.gap;
    // The shortest meeting may last beyond the record, of which the table knows the part recorded only.
    if (table === null || !Number.isFinite(value)) continue;
    ask.that(table === value, `${requirement.text} is judged by ${value}, the pair table has ${table}`);
  }
}

/** Every moment at which a door is shut again stands in the sheet. */
function askSheet(ask: Asker, facts: RigFacts): void {
  const sheet = JSON.stringify(sheetOf(facts));
  for (const stroke of facts.timing.strokes)
    for (const { door, windows } of stroke.doors)
      for (const { notShut } of windows)
        if (notShut.to !== null)
          ask.that(
            sheet.includes(`${facts.rig.doors[door]!.name} is shut`) && sheet.includes(formatTime(notShut.to)),
            `${facts.rig.doors[door]!.name} is shut at ${notShut.to}, of which the sheet has nothing`,
          );
}

/** One property asked by itself has the verdict that it has among all. */
function askOnly(ask: Asker, { rig, proof }: RigProof, { states }: Effort): void {
  for (const { property, verdict } of proof.results()) {
    if (verdict.state === 'undecided') continue;
    const alone = proveRig(rig, property.name).proof;
    for (let left = states; left > 0 && !alone.run(Math.min(left, 500)); left -= 500);
    const found = alone.results().find((r) => r.property.name === property.name)!.verdict.state;
    if (found === 'undecided') continue;
    ask.that(found === verdict.state, `${property.name} is ${verdict.state}, asked by itself ${found}`);
  }
}

/** The interval that flow counts with is the one of timing. */
function askFlow(ask: Asker, { timing, flow }: RigFacts): void {
  for (const { stroke, interval } of flow?.strokes ?? []) {
    const timed = timing.strokes[stroke];
    // Strokes that a counter ends are an interval for timing, and one course that does not go on for flow.
    if (!timed || timed.strokeCount !== null) continue;
    const { repeat } = timed;
    const same = repeat === null ? interval === null : interval !== null && Math.abs(interval - repeat / 1e6) < 1e-9;
    ask.that(
      same,
      `flow counts with an interval of ${interval} s, timing with ${repeat === null ? 'none' : repeat / 1e6}`,
    );
  }
}

/** Drawn times never break what is kept, nor leave a range that is guaranteed. */
function askTolerance(ask: Asker, facts: RigFacts, random: Random, samples: number): void {
  const { rig } = facts;
  const loose = looseTimes(rig);
  if (loose.length === 0) return;
  const kept = [...withinTolerance(facts)].filter(([, v]) => v.state === 'kept' || v.range?.guaranteed);
  if (kept.length === 0) return;
  for (let run = 0; run < samples; run++) {
    const timing = analyseTiming(rig, { ...startOptions(rig), times: drawn(rig, loose, random) });
    if (timing.incomplete !== null) continue;
    for (const [requirement, verdict] of kept) {
      const found = evaluateRequirement({ rig, timing, flow: null }, requirement);
      if (verdict.state === 'kept')
        ask.that(
          found.state === 'met',
          `${requirement.text} is kept within tolerance, and drawn times break it: ${found.message}`,
        );
      const value = found.actual?.nominal;
      if (verdict.range?.guaranteed && value !== undefined && Number.isFinite(value))
        ask.that(
          value >= verdict.range.min - 1e-9 && value <= verdict.range.max + 1e-9,
          `${requirement.text}: ${value} is outside the guaranteed ${verdict.range.min} .. ${verdict.range.max}`,
        );
    }
  }
}

function drawn(rig: Rig, loose: ReturnType<typeof looseTimes>, random: Random): TimeChoice {
  const chosen = new Map(loose.map((p) => [`${p.what} ${p.index}`, p.min + Math.round(random() * (p.max - p.min))]));
  const of = (what: string, nominal: (index: number) => number) => (index: number) =>
    chosen.get(`${what} ${index}`) ?? nominal(index);
  return {
    preset: of('preset', (e) => rig.network.elements[e]!.preset?.nominal ?? 0),
    response: of('response', (e) => rig.network.elements[e]!.response.nominal),
    opensIn: of('opens', (d) => rig.doors[d]!.opensIn.nominal),
    closesIn: of('closes', (d) => rig.doors[d]!.closesIn.nominal),
    scan: () => chosen.get('scan 0') ?? rig.controller.time.nominal,
  };
}
