/** The tutorial does what it says: its files are put together as the reader would, each command is run, and its output is what stands below it. */
import { expect, it } from 'vitest';
import { runBlocks } from './blocks';

it('runs, block by block', async () => expect(await runBlocks('grammar/TUTORIAL.md')).toBeGreaterThan(4));
