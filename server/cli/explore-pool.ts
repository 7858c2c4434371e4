/**
 * Running an exploration on all cores: worker threads that load this same program, each given one run of choices after the other; rows
 * come out in order whatever finishes first. A pool of our own because the program is one bundled file, which kept pools cannot load.
 */
import { availableParallelism } from 'node:os';
import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads';
import { openExploration, type Exploration } from './explore-work';
import { nodeIo, type Io } from './io';

const KIND = 'caisson-explore';
/** Choices that a worker is given at a time. */
const CHUNK = 250;
/** Nearly all that a choice allocates is gone with it: with more room, less of it is copied before it goes. */
const YOUNG = { maxYoungGenerationSizeMb: 96 };

export interface RunOptions {
  readonly from: number;
  readonly to: number;
  /** 0: as many as there are cores; 1: no worker. */
  readonly workers: number;
  /** Gets the rows in order. */
  readonly write: (rows: string) => void;
  readonly progress: (done: number) => void;
}

/** Runs choices `from` … `to` − 1. */
export async function runExploration(io: Io, exploration: Exploration, options: RunOptions): Promise<void> {
  const { from, to, write, progress } = options;
  const program = process.argv[1] ?? '';
  const count = Math.min(options.workers || availableParallelism(), Math.ceil((to - from) / CHUNK));
  if (count > 1 && /caisson(\.c?js)?$/.test(program)) return inWorkers(program, exploration, options, count);
  const { row } = openExploration(io, exploration);
  for (let at = from; at < to; at += CHUNK) {
    const rows: string[] = [];
    for (let i = at; i < Math.min(to, at + CHUNK); i++) rows.push(row(i));
    write(rows.join(''));
    progress(Math.min(to, at + CHUNK) - from);
  }
}

interface Part {
  readonly from: number;
  readonly to: number;
}

function inWorkers(program: string, exploration: Exploration, options: RunOptions, count: number): Promise<void> {
  const { from, to, write, progress } = options;
  let given = from;
  let written = from;
  const done = new Map<number, { rows: string; to: number }>();
  const next = (): Part | null => {
    if (given >= to) return null;
    const part = { from: given, to: Math.min(to, given + CHUNK) };
    given = part.to;
    return part;
  };
  const flush = (): void => {
    for (let part = done.get(written); part; part = done.get(written)) {
      done.delete(written);
      write(part.rows);
      written = part.to;
      progress(written - from);
    }
  };
  return new Promise((resolve, reject) => {
    const workers = Array.from(
      { length: count },
      () => new Worker(program, { workerData: { kind: KIND, exploration }, resourceLimits: YOUNG }),
    );
    const stop = (error?: Error): void => {
      for (const worker of workers) void worker.terminate();
      if (error) reject(error);
      else resolve();
    };
    for (const worker of workers) {
      const give = (): void => {
        const part = next();
        if (part) worker.postMessage(part);
      };
      worker.on('error', stop);
      worker.on('message', ({ from: at, to: end, rows }: Part & { rows: string }) => {
        done.set(at, { rows, to: end });
        flush();
        if (written >= to) stop();
        else give();
      });
      give();
    }
  });
}

/** Serves as a worker where this thread was started as one; tells whether it was. */
export function serveAsWorker(): boolean {
  if (isMainThread || (workerData as { kind?: unknown } | null)?.kind !== KIND) return false;
  const { exploration } = workerData as { exploration: Exploration };
  const { row } = openExploration(nodeIo(), exploration);
  parentPort!.on('message', ({ from, to }: Part) => {
    const rows: string[] = [];
    for (let i = from; i < to; i++) rows.push(row(i));
    parentPort!.postMessage({ from, to, rows: rows.join('') });
  });
  return true;
}
