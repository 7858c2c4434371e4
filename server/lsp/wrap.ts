/** What all handlers of standard requests share: the document is found and built, and what takes long is computed in turns. */
import type { CancellationToken, Connection, ResponseError, TextDocumentIdentifier } from 'vscode-languageserver';
import { computing, type Need } from '../core/document/needs';
import type { Work } from '../core/work/work';
import type { ClientFacts } from './client-facts';
import type { Proofs } from './proofs';
import { answer, overtaken, type Log } from './request';
import type { Turns, Urgency } from './turns';
import { SHORT, type Opened, type Workspace } from './workspace';

export interface HandlerNeeds {
  readonly connection: Connection;
  readonly workspace: Workspace;
  readonly client: () => ClientFacts;
  readonly log: Log;
  readonly turns: Turns;
  readonly proofs: Proofs;
}

/** An answer, at once or in steps. */
type Answering<T> = T | ResponseError | Work<T | ResponseError>;

interface Params {
  readonly textDocument: TextDocumentIdentifier;
}

/**
 * Wraps handlers: the document is found and built, what the answer needs is computed in turns, and so is an answer given in steps;
 * cancellation and our own bugs are taken care of. A text that changes before its answer is computed gets the protocol's answer for that: the client asks again.
 */
export function createWrapper({ workspace, log, turns }: HandlerNeeds) {
  const isOvertaken = ({ document }: Opened): boolean => {
    const open = workspace.open.get(document.uri);
    return open !== undefined && open.version !== document.version;
  };
  return <P extends Params, T>(
      name: string,
      empty: T,
      work: (opened: Opened, params: P) => Answering<T> | Promise<Answering<T>>,
      needs: (opened: Opened, params: P) => Need = () => 'text',
      urgency: Urgency = 'open',
    ) =>
    (params: P, token: CancellationToken): Promise<T | ResponseError> =>
      answer<T | ResponseError>(name, log, token, empty, async () => {
        const opened = await workspace.prepare(params.textDocument.uri);
        if (!opened || token.isCancellationRequested) return empty;
        const isOver = (): boolean => token.isCancellationRequested || isOvertaken(opened);
        // A short text is read at once, a long one in steps before anything is asked of it.
        const isRead =
          opened.document.text.length <= SHORT || (await turns.run(opened.document.readWork(), 'caret', isOver));
        const need = isRead ? needs(opened, params) : 'text';
        const isReady =
          isRead && (need === 'text' || (await turns.run(computing(opened.document, need), urgency, isOver)));
        const result = isReady && (await work(opened, params));
        const done = isWork(result) ? await turns.run(result, urgency, isOver) : isReady && { value: result as T };
        if (!done) return isOvertaken(opened) ? overtaken() : empty;
        return done.value;
      });
}

/** Answers of the protocol are plain data: none has a function. */
function isWork<T>(result: T | Work<T>): result is Work<T> {
  return typeof result === 'object' && result !== null && 'next' in result;
}

/** What work gives as the protocol has it, a few hundred between two steps. */
export function* mapped<A, B>(work: Work<readonly A[]>, convertOne: (value: A) => B): Work<B[]> {
  const converted: B[] = [];
  for (const value of yield* work) {
    converted.push(convertOne(value));
    if (converted.length % 256 === 0) yield;
  }
  return converted;
}
