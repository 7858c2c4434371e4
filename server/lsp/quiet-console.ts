/**
 * Keeps standard output free of anything but protocol messages: whatever a library prints goes to standard error. Works by being
 * imported, so it must be the first import of the program.
 */
const write = (...parts: readonly unknown[]): void => void process.stderr.write(`${parts.map(String).join(' ')}\n`);
for (const method of ['log', 'info', 'debug', 'warn', 'error', 'trace', 'dir'] as const) {
  Object.assign(globalThis.console, { [method]: write });
}

export {};
