/** The part of the browser's `Worker` that the web entry uses; the rest of the browser is not there in an extension host. */
declare class Worker {
  constructor(script: string);
  terminate(): void;
}
