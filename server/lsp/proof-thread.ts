/**
 * Proofs in a thread beside the server's own (Node only): typing, hovers and findings are not kept waiting, and a proof that is not wanted any more
 * ends at once with its thread. The rig goes over as plain data and the verdicts come back so.
 */
import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads';
import type { Rig } from '../core/model/rig';
import { spentBudget, type ProofBudget } from '../core/proof/budget';
import type { Proof } from '../core/proof/prove';
import { proveRig, type RigProof } from '../core/run/prove-rig';

/** A proof under way elsewhere. */
export interface ProofThread {
  /** Rejects where the thread ended without an answer: out of memory, say. */
  readonly answer: Promise<RigProof>;
  /** Ends it here and now; nothing comes of `answer` then. */
  stop(): void;
}

/** Starts a proof of a rig; `report` hears now and then how many states it has worked off. */
export type StartProof = (rig: Rig, budget: ProofBudget, report: (explored: number) => void) => ProofThread;

/** What a thread is given, by which the program that it loads knows that it is one. */
interface Task {
  readonly caisson: 'proof';
  readonly rig: Rig;
  readonly budget: ProofBudget;
}

/** Verdicts and figures as they were when the proof ended. */
type Outcome = Pick<Proof, 'explored' | 'stored' | 'bytes' | 'network'> & {
  readonly results: ReturnType<Proof['results']>;
  readonly requirementOf: RigProof['requirementOf'];
  readonly leftOut: RigProof['leftOut'];
};

type Message = { readonly explored: number } | { readonly outcome: Outcome };

/** Memory that the objects of a proof may take beyond what its budget counts. */
const HEADROOM = 3;
/** Milliseconds between two reports. */
const REPORT = 200;

/** Whether this is a thread started for a proof, not the program itself. */
export function isProofThread(): boolean {
  return !isMainThread && (workerData as Partial<Task> | null)?.caisson === 'proof';
}

/** Threads that load `program`. @param mebibytes heap of a thread; three times the budget of the proof where left out */
export function proofThreads(program: string, mebibytes?: number): StartProof {
  return (rig, budget, report) => {
    const task: Task = { caisson: 'proof', rig, budget };
    const heap = mebibytes ?? Math.ceil((budget.bytes * HEADROOM) / 2 ** 20);
    // What the thread prints must not get among the messages on standard output.
    const quiet = { stdout: true, stderr: true };
    // By these words the whole program comes to node-main.ts, which looks whether it is a thread.
    const argv = ['serve', '--stdio'];
    const worker = new Worker(program, {
      workerData: task,
      resourceLimits: { maxOldGenerationSizeMb: heap },
      ...quiet,
      argv,
    });
    const answer = new Promise<RigProof>((resolve, reject) => {
      worker.on('message', (message: Message) => {
        if ('explored' in message) return report(message.explored);
        resolve(toProof(rig, message.outcome));
        void worker.terminate();
      });
      worker.on('error', reject);
      worker.on('exit', (code) => reject(new Error(`its thread ended with code ${code}`)));
    });
    return { answer, stop: () => void worker.terminate() };
  };
}

function toProof(rig: Rig, { results, requirementOf, leftOut, ...figures }: Outcome): RigProof {
  const proof: Proof = { ...figures, run: () => true, giveUp: () => undefined, results: () => results };
  return { rig, proof, requirementOf, leftOut };
}

/** The thread's side: proves and answers. */
export function runProofThread(): void {
  const { rig, budget } = workerData as Task;
  const started = performance.now();
  const { proof, requirementOf, leftOut } = proveRig(rig);
  let said = started;
  for (let done = false; !done;) {
    done = proof.run(1);
    const now = performance.now();
    const spent = done ? null : spentBudget(proof, budget, (now - started) / 1000);
    if (spent) proof.giveUp(spent);
    done ||= spent !== null;
    if (done || now - said < REPORT) continue;
    said = now;
    parentPort!.postMessage({ explored: proof.explored } satisfies Message);
  }
  const { explored, stored, bytes } = proof;
  // Functions do not go over; nobody evaluates a network that has been proved.
  const network = { ...proof.network, elements: proof.network.elements.map((e) => ({ ...e, reads: [] })) };
  const outcome: Outcome = { explored, stored, bytes, network, results: proof.results(), requirementOf, leftOut };
  parentPort!.postMessage({ outcome } satisfies Message);
}
