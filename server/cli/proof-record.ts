/**
 * A lasting record of proofs: what `prove --json` writes, and `check --proofs` compares in a build. Each verdict carries the SHA-256 of its question (the
 * rig as resolved, the property, the version that answered), so that nothing stays proved after any of them has changed.
 */
import { createHash } from 'node:crypto';
import { resolve } from 'node:path';
import { isIncomplete } from '../core/features/lookup';
import { placeOf } from '../core/features/proof-results';
import type { Problem } from '../core/model/problem';
import { questionText } from '../core/proof/question';
import { proofJson, type ProofJson } from '../core/report/proof-report';
import { proveRig, type RigProof } from '../core/run/prove-rig';
import type { Input } from './inputs';
import { UsageError, type Io } from './io';
import { VERSION } from './version';

type Verdict = ProofJson['results'][number]['verdict'];

export interface ProofRecord {
  /** As the user named it. */
  readonly file: string;
  /** Hash of a question → its verdict. */
  readonly verdicts: ReadonlyMap<string, Verdict>;
  /** `RIG: PROPERTY` of every verdict, whatever it was given for. */
  readonly names: ReadonlySet<string>;
}

/** The JSON of `prove --json`. */
export function proofRecordJson(proofs: readonly RigProof[]): unknown {
  return {
    version: VERSION,
    rigs: proofs.map((rigProof) => {
      const json = proofJson(rigProof);
      const questions = rigProof.proof.results().map(({ property }) => hashOf(questionText(rigProof.rig, property)));
      return { ...json, results: json.results.map((result, k) => ({ ...result, question: questions[k] })) };
    }),
  };
}

const hashOf = (question: string): string => createHash('sha256').update(`${VERSION}\n${question}`).digest('hex');

/** Reads a record; a usage error where the file is none. */
export function readProofRecord(io: Io, file: string): ProofRecord {
  const text = io.read(resolve(io.cwd, file));
  const verdicts = new Map<string, Verdict>();
  const names = new Set<string>();
  for (const rig of membersOf(parsed(text, file), 'rigs', file)) {
    for (const result of membersOf(rig, 'results', file)) {
      const { property, verdict, question } = result as Record<string, unknown>;
      if (typeof property !== 'string' || typeof question !== 'string' || !isVerdict(verdict)) throw noRecord(file);
      verdicts.set(question, verdict);
      names.add(`${String((rig as { name?: unknown }).name)}: ${property}`);
    }
  }
  return { file, verdicts, names };
}

const isVerdict = (word: unknown): word is Verdict => word === 'proved' || word === 'refuted' || word === 'undecided';

const noRecord = (file: string): UsageError =>
  new UsageError(`${file} is not a record of proofs; caisson prove --json writes one.`);

function parsed(text: string, file: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    throw noRecord(file);
  }
}

function membersOf(value: unknown, name: string, file: string): readonly unknown[] {
  const list = typeof value === 'object' && value !== null ? (value as Record<string, unknown>)[name] : undefined;
  if (!Array.isArray(list) || list.some((item) => typeof item !== 'object' || item === null)) throw noRecord(file);
  return list;
}

/**
 * Whatever a proof would be asked now that the record has not proved for exactly this text. `asked`: all that is checked, as on the command line: a
 * record holds the proofs of all of it, so that is what has to be proved again.
 */
export function recordFindings({ document, path }: Input, record: ProofRecord, asked: readonly string[]): Problem[] {
  const commands = { show: `caisson prove ${quoted([path])}`, renew: renewal(asked, record.file) };
  return document
    .analysed()
    .flatMap((facts) => (isIncomplete(facts.rig) ? [] : rigFindings(proveRig(facts.rig), record, commands)));
}

const quoted = (words: readonly string[]): string =>
  words.map((word) => (/^[\w./@%+=:,-]+$/.test(word) ? word : `"${word}"`)).join(' ');

const renewal = (asked: readonly string[], file: string): string =>
  `caisson prove --json ${quoted(asked)} > ${quoted([file])}`;

interface Commands {
  readonly show: string;
  readonly renew: string;
}

function rigFindings(rigProof: RigProof, { file, verdicts, names }: ProofRecord, { show, renew }: Commands): Problem[] {
  const { rig, proof } = rigProof;
  return proof.results().flatMap(({ property }, k): Problem[] => {
    const verdict = verdicts.get(hashOf(questionText(rig, property)));
    if (verdict === 'proved') return [];
    const at = placeOf(rigProof, k);
    if (verdict === 'refuted') {
      const message = `"${property.name}" is refuted at this text (${file}); ${show} shows the run.`;
      return [{ code: 'require/refuted', severity: 'error', message, at }];
    }
    const what =
      verdict === 'undecided'
        ? `is undecided in ${file}; give its proof a larger budget`
        : names.has(`${rig.name}: ${property.name}`)
          ? `was proved for another text or by another version than this (${file}); prove it again`
          : `has no proof in ${file}; prove it`;
    const message = `"${property.name}" ${what}: ${renew}.`;
    return [{ code: 'require/undecided', severity: 'warning', message, at }];
  });
}
