/** Long computations take turns, with a clock and a queue of messages of the test's own: everything is counted, nothing is timed. */
import { describe, expect, it } from 'vitest';
import type { Work } from '../../server/core/work/work';
import { createTurns } from '../../server/lsp/turns';

/** A server of which only the loop is there: a pause lets one message be handled, a step of work takes 5 ms of its clock. */
function loop() {
  let time = 0;
  let handled = 0;
  const queue: (() => void)[] = [];
  const log: string[] = [];
  const pause = async (): Promise<void> => {
    await Promise.resolve();
    const message = queue.shift();
    if (!message) return;
    handled++;
    message();
  };
  const turns = createTurns({ now: () => time, pause }, () => handled);
  function* steps(name: string, count: number): Work<string> {
    for (let k = 0; k < count; k++) {
      log.push(name);
      time += 5;
      yield;
    }
    return name;
  }
  return { turns, queue, log, steps, pass: (ms: number) => (time += ms) };
}

const never = (): boolean => false;

describe('long computations', () => {
  it('let every waiting message be handled between two slices, however many of them there are', async () => {
    const { turns, queue, log, steps } = loop();
    const all = Array.from({ length: 40 }, (_, k) => turns.run(steps(`long ${k}`, 100), 'open', never));
    for (let k = 0; k < 100; k++) queue.push(() => log.push('message'));
    await Promise.all(all);
    expect(log.lastIndexOf('message') - log.indexOf('message')).toBe(99);
    expect(log.indexOf('message')).toBeLessThanOrEqual(2);
  });

  it('wait for what is asked at the caret', async () => {
    const { turns, queue, log, steps } = loop();
    let before = -1;
    const all = Array.from({ length: 40 }, (_, k) =>
      turns.run(steps(`long ${k}`, 100), k % 2 ? 'open' : 'rest', never),
    );
    queue.push(() => {
      before = log.length;
      all.push(turns.run(steps('hover', 30), 'caret', never).then((done) => (log.push('answer'), done)));
    });
    await Promise.all(all);
    expect(log.slice(before, before + 31)).toEqual([...Array<string>(30).fill('hover'), 'answer']);
  });

  it('let what is short be done before what is long, and what is open before the rest', async () => {
    const { turns, log, steps } = loop();
    const ended: string[] = [];
    const run = async (name: string, count: number, urgency: 'open' | 'rest'): Promise<void> => {
      const done = await turns.run(steps(name, count), urgency, never);
      ended.push(done!.value);
    };
    await Promise.all([
      run('rest', 1, 'rest'),
      run('long', 200, 'open'),
      run('short', 4, 'open'),
      run('middle', 20, 'open'),
    ]);
    expect(ended).toEqual(['short', 'middle', 'long', 'rest']);
    expect(log.indexOf('rest')).toBe(224);
  });

  it('end before the next slice where nobody waits for them any more', async () => {
    const { turns, queue, log, steps } = loop();
    let over = false;
    queue.push(() => (over = true));
    expect(await turns.run(steps('given up', 100), 'open', () => over)).toBeNull();
    expect(log).toEqual([]);
  });

  it('hand on what goes wrong to whoever asked, and to nobody else', async () => {
    const { turns, steps } = loop();
    // eslint-disable-next-line require-yield -- a computation that breaks at its first step
    function* broken(): Work<string> {
      throw new Error('broken');
    }
    const sound = turns.run(steps('sound', 10), 'open', never);
    await expect(turns.run(broken(), 'open', never)).rejects.toThrow('broken');
    const stop = (): boolean => {
      throw new Error('stop');
    };
    await expect(turns.run(steps('unheard', 10), 'open', stop)).rejects.toThrow('stop');
    expect(await sound).toEqual({ value: 'sound' });
  });

  it('go on under a flood of messages that never ends', async () => {
    const { turns, queue, log, steps } = loop();
    let count = 0;
    const flood = (): void => {
      if (log.length < 20) queue.push(flood);
      count++;
    };
    queue.push(flood);
    await turns.run(steps('work', 20), 'rest', never);
    expect(count).toBeGreaterThan(1000);
    expect(log).toHaveLength(20);
  });

  it('leave a walk alone until it has had a slice, then let the more urgent go first', async () => {
    const { turns, log, steps, pass } = loop();
    const step = turns.walk('open');
    await step();
    pass(4);
    await step();
    const other = turns.run(steps('hover', 3), 'caret', never);
    pass(7);
    await step();
    log.push('walked on');
    expect(log).toEqual(['hover', 'hover', 'hover', 'walked on']);
    await other;
  });
});
