/** The process: command line in, exit code out. Everything else is `main`, which tests call without a process. */
import { serveAsWorker } from './explore-pool';
import { nodeIo } from './io';
import { main } from './main';

if (!serveAsWorker())
  main(process.argv.slice(2), nodeIo()).then(
    (code) => void (process.exitCode = code),
    (error: unknown) => {
      const text = error instanceof Error ? (error.stack ?? error.message) : String(error);
      process.stderr.write(`caisson: this is a mistake of the program, please report it: ${text}\n`);
      process.exitCode = 70;
    },
  );
