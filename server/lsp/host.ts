/** What the server needs from the place it runs in; `node-main.ts` and `browser-main.ts` each provide one. */
export interface Host {
  /** Version of the program, told to clients. */
  readonly version: string;
  /** URI of the language reference beside the program, null where there is none. */
  readonly reference: string | null;
  /** Lets waiting messages be handled, then goes on. */
  pause(): Promise<void>;
  /** Milliseconds of a steady clock. */
  now(): number;
  /** Text of a file, undefined where it cannot be read here (then the client is asked). */
  readFile?(uri: string): string | undefined;
  /** `.rig` files in a folder and below, without hidden folders and installed packages; absent where it cannot be known here. */
  listFiles?(folder: string): string[];
}
