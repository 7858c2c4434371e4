import { describe, expect, it } from 'vitest';
import { ServerLifecycle, type ServerClient, type ServerStatus } from '../../client/src/lifecycle';

/** A client whose start does what the test says; `log` shows the order of what happened. */
function fake(log: string[], start: () => Promise<void>, name = 'c'): ServerClient {
  return {
    start: () => (log.push(`${name} start`), start()),
    stop: async () => void log.push(`${name} stop`),
    dispose: async () => void log.push(`${name} dispose`),
  };
}

function lifecycleOf(clients: ServerClient[], startTimeoutMs?: number) {
  const seen: string[] = [];
  const lifecycle = new ServerLifecycle({
    create: () => clients.shift()!,
    changed: (status: ServerStatus) => seen.push(status.kind === 'failed' ? `failed: ${status.reason}` : status.kind),
    startTimeoutMs,
    stopTimeoutMs: 5,
  });
  return { lifecycle, seen };
}

const well = async (): Promise<void> => {};
const never = (): Promise<void> => new Promise(() => {});

describe('server lifecycle', () => {
  it('starts once, however often it is asked', async () => {
    const log: string[] = [];
    const { lifecycle, seen } = lifecycleOf([fake(log, well)]);
    await Promise.all([lifecycle.start(), lifecycle.start()]);
    expect(log).toEqual(['c start']);
    expect(seen).toEqual(['starting', 'running']);
  });

  it('fails once, however many wait for the start', async () => {
    const log: string[] = [];
    const broken = fake(log, () => Promise.reject(new Error('no such module')), 'a');
    const { lifecycle, seen } = lifecycleOf([fake(log, well, '0'), broken, fake(log, well, 'b')]);
    await lifecycle.start();
    const restarted = lifecycle.restart();
    // Whoever asks a server that is starting waits for it: that is no wish for another start.
    await Promise.all([lifecycle.start(), restarted, lifecycle.start()]);
    expect(seen.slice(2)).toEqual(['stopped', 'starting', 'failed: no such module']);
    await lifecycle.start();
    expect(seen.at(-1)).toBe('running');
  });

  it('recovers from a failed start with a new client', async () => {
    const log: string[] = [];
    const broken = fake(log, () => Promise.reject(new Error('no such module\n  at …')), 'a');
    const { lifecycle, seen } = lifecycleOf([broken, fake(log, well, 'b')]);
    await lifecycle.start();
    expect(lifecycle.running).toBeNull();
    await lifecycle.restart();
    expect(seen).toEqual(['starting', 'failed: no such module', 'stopped', 'starting', 'running']);
    expect(log).toEqual(['a start', 'a dispose', 'b start']);
  });

  it('survives a client that cannot even be made', async () => {
    const { lifecycle, seen } = lifecycleOf([]);
    await lifecycle.start();
    expect(seen[1]).toMatch(/^failed: /);
  });

  it('gives up a start that hangs when a restart is asked for', async () => {
    const log: string[] = [];
    const { lifecycle, seen } = lifecycleOf([fake(log, never, 'a'), fake(log, well, 'b')]);
    const first = lifecycle.start();
    await Promise.resolve();
    await Promise.all([first, lifecycle.restart()]);
    expect(log).toEqual(['a start', 'a dispose', 'b start']);
    expect(seen.at(-1)).toBe('running');
  });

  it('gives up a start that takes too long', async () => {
    const { lifecycle, seen } = lifecycleOf([fake([], never)], 5);
    await lifecycle.start();
    expect(seen.at(-1)).toBe('failed: it did not answer within 0.005 s');
  });

  it('does one thing at a time, in the order asked', async () => {
    const log: string[] = [];
    const clients = ['a', 'b', 'c'].map((name) => fake(log, well, name));
    const { lifecycle } = lifecycleOf(clients);
    await Promise.all([lifecycle.start(), lifecycle.restart(), lifecycle.stop(), lifecycle.start()]);
    expect(log).toEqual(['a start', 'a dispose', 'b start', 'b dispose', 'c start']);
    expect(lifecycle.status.kind).toBe('running');
  });

  it('learns of a server that ended for good, and starts again on demand', async () => {
    const log: string[] = [];
    const { lifecycle, seen } = lifecycleOf([fake(log, well, 'a'), fake(log, well, 'b')]);
    await lifecycle.start();
    await lifecycle.lost('it ended');
    expect(lifecycle.running).toBeNull();
    await lifecycle.start();
    expect(seen).toEqual(['starting', 'running', 'failed: it ended', 'starting', 'running']);
  });

  it('does not wait indefinitely for a client that will not end', async () => {
    const stuck: ServerClient = { start: well, stop: never, dispose: never };
    const { lifecycle } = lifecycleOf([stuck]);
    await lifecycle.start();
    await lifecycle.stop();
    expect(lifecycle.status.kind).toBe('stopped');
  });
});
