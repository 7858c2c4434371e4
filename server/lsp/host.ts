import type { DecodedText } from '../protocol/text-bytes';
import type { StartProof } from './proof-thread';

/** What the server needs from the place it runs in; `node-main.ts` and `browser-main.ts` each provide one. */
export interface Host {
  /** Version of the program, as clients see it. */
  readonly version: string;
  /** URI of the language reference beside the program, null where there is none. */
  readonly reference: string | null;
  /** Lets waiting messages be handled, then goes on. */
  pause(): Promise<void>;
  /** Milliseconds of a steady clock. */
  now(): number;
  /**
   * Text of a file, why it is refused, or undefined where files cannot be read here (then the client is asked). `within`: folders
   * that the file must lie in, links followed; null where it may lie anywhere.
   */
  readFile?(uri: string, within: readonly string[] | null): DecodedText | undefined;
  /** Starts a proof in a thread of its own; absent where there are none, then it is run here in turns with everything else. */
  readonly startProof?: StartProof;
  /** `.rig` files in folders and below, without hidden folders and installed packages; absent where it cannot be known here. */
  listFiles?(folders: readonly string[]): Promise<string[]>;
}
