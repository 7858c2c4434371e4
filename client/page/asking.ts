/** Questions to the server through the host, and their answers by number. */
import type { ByHandAnswer, ByHandAsk } from '../../server/protocol/by-hand';
import type { PageMessage } from '../../server/protocol/preview';

export interface Asking {
  ask(ask: ByHandAsk, rig: string, version: number): Promise<ByHandAnswer | null>;
  answered(id: number, answer: ByHandAnswer | null): void;
}

export function createAsking(post: (message: PageMessage) => void): Asking {
  const waiting = new Map<number, (answer: ByHandAnswer | null) => void>();
  let last = 0;
  return {
    ask: (ask, rig, version) =>
      new Promise((resolve) => {
        const id = ++last;
        waiting.set(id, resolve);
        post({ type: 'byHand', id, version, rig, ask });
      }),
    answered(id, answer) {
      waiting.get(id)?.(answer);
      waiting.delete(id);
    },
  };
}
