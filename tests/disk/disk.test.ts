/** Reading and writing on a real disk: what is no UTF-8 text file is named and left alone, and a file is whole whatever happens. */
import { execFileSync, spawnSync } from 'node:child_process';
import {
  chmodSync,
  linkSync,
  lstatSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { buildSync } from 'esbuild';
import * as fc from 'fast-check';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { readTextFile } from '../../server/disk/read-text';
import { pathKind, rigFilesBelow } from '../../server/disk/rig-files';
import { writeFile } from '../../server/disk/write-file';
import { decodeText, MOST_BYTES } from '../../server/protocol/text-bytes';

const home = mkdtempSync(join(tmpdir(), 'caisson-disk-'));
afterAll(() => rmSync(home, { recursive: true, force: true }));
let folder = home;
let count = 0;
beforeEach(() => mkdirSync((folder = join(home, String(++count)))));
const at = (name: string): string => join(folder, name);
const reason = (path: string): string => {
  const read = readTextFile(path);
  return read.ok ? `read: ${read.text}` : read.reason;
};

describe('decodeText', () => {
  const bytes = (text: string, encoding: BufferEncoding) => new Uint8Array(Buffer.from(text, encoding));
  it.each([
    ['Latin-1', Buffer.from('rig "é"', 'latin1'), 'is not UTF-8 text'],
    ['UTF-16 with a mark', bytes('\uFEFFrig r { }', 'utf16le'), 'is UTF-16 text'],
    ['UTF-16 without', bytes('rig r { }', 'utf16le'), 'is UTF-16 text'],
    ['big-endian UTF-16', Buffer.from(bytes('\uFEFFrig r { }', 'utf16le')).swap16(), 'is UTF-16 text'],
    ['big-endian UTF-16 without a mark', Buffer.from(bytes('rig r { }', 'utf16le')).swap16(), 'is UTF-16 text'],
    ['a cut sequence', Buffer.from([0x72, 0xc3]), 'is not UTF-8 text'],
    ['an encoded surrogate', Buffer.from([0xed, 0xa0, 0x80]), 'is not UTF-8 text'],
    ['zeros', Buffer.from('rig\0 r with some more text', 'utf8'), 'is not a text file'],
  ])('names %s', (_, given, why) => {
    const decoded = decodeText(given);
    expect(decoded).toMatchObject({ ok: false });
    expect(!decoded.ok && decoded.reason).toContain(why);
  });

  it('gives any text back, with or without a mark', () =>
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme' }), fc.boolean(), (raw, mark) => {
        const text = raw.replaceAll('\0', '').replace(/^\uFEFF+/, '');
        const decoded = decodeText(new Uint8Array(Buffer.from((mark ? '\uFEFF' : '') + text)));
        expect(decoded).toEqual({ ok: true, text, mark });
      }),
    ));
});

describe('reading', () => {
  it('takes regular files only, and says what else it found', () => {
    execFileSync('mkfifo', [at('pipe.rig')]);
    expect(reason(at('pipe.rig'))).toContain('not a regular file');
    expect(reason('/dev/zero')).toContain('not a regular file');
    expect(reason(folder)).toContain('is a folder');
    expect(reason(at('none.rig'))).toContain('there is no such file');
    symlinkSync('nowhere', at('dangling.rig'));
    expect(reason(at('dangling.rig'))).toContain('there is no such file');
    symlinkSync('round.rig', at('round.rig'));
    expect(reason(at('round.rig'))).toContain('links form a circle');
    symlinkSync('/dev/zero', at('zero.rig'));
    expect(reason(at('zero.rig'))).toContain('not a regular file');
  });

  it('up to 4 MB', () => {
    writeFileSync(at('large.rig'), '#'.repeat(MOST_BYTES + 1));
    expect(reason(at('large.rig'))).toContain('larger than 4 MB');
    writeFileSync(at('fits.rig'), '#'.repeat(MOST_BYTES));
    expect(readTextFile(at('fits.rig')).ok).toBe(true);
  });

  it('files that do not know their size', () => expect(reason('/proc/self/status')).toContain('read: Name:'));
});

describe('writing', () => {
  it('keeps mode, mark and links', () => {
    writeFileSync(at('a.rig'), '\uFEFFold');
    chmodSync(at('a.rig'), 0o640);
    symlinkSync('a.rig', at('link.rig'));
    expect(writeFile(at('link.rig'), 'new')).toBeNull();
    expect(readFileSync(at('a.rig'), 'utf8')).toBe('\uFEFFnew');
    expect(statSync(at('a.rig')).mode & 0o777).toBe(0o640);
    expect(lstatSync(at('link.rig')).isSymbolicLink()).toBe(true);
    expect(readdirSync(folder).sort()).toEqual(['a.rig', 'link.rig']);
  });

  it('makes new files, also where a link leads', () => {
    symlinkSync('later.rig', at('link.rig'));
    expect(writeFile(at('link.rig'), 'new')).toBeNull();
    expect(readFileSync(at('later.rig'), 'utf8')).toBe('new');
  });

  it('says why not, and leaves the old file and nothing else', () => {
    expect(writeFile(folder, 'x')).toContain('it is a folder');
    expect(writeFile(at('none/x.rig'), 'x')).toContain('there is no such file or folder');
    symlinkSync('round.rig', at('round.rig'));
    expect(writeFile(at('round.rig'), 'x')).toContain('circle');
    expect(writeFile('/dev/full', 'x')).toContain('the disk is full');
    expect(writeFile('/dev/null', 'x')).toBeNull();
    expect(readdirSync(folder)).toEqual(['round.rig']);
  });

  it('does not truncate a file when the disk ends half way', () => {
    writeFileSync(at('old.rig'), 'x'.repeat(2000));
    // A limit on the size of files stands for a full disk: the write fails after 1,024 bytes.
    buildSync({
      entryPoints: [join(__dirname, '../../server/disk/write-file.ts')],
      bundle: true,
      platform: 'node',
      outfile: at('write.cjs'),
    });
    const [bundle, old] = [at('write.cjs'), at('old.rig')].map((path) => JSON.stringify(path));
    writeFileSync(at('run.cjs'), `console.log(require(${bundle}).writeFile(${old}, 'y'.repeat(200000)))`);
    const run = spawnSync('bash', ['-c', `ulimit -f 1; trap '' XFSZ; exec ${process.execPath} ${at('run.cjs')}`], {
      encoding: 'utf8',
    });
    expect(run.stdout).toContain('cannot be written');
    expect(readFileSync(at('old.rig'), 'utf8')).toBe('x'.repeat(2000));
    expect(readdirSync(folder).filter((n) => n.includes('caisson-new'))).toEqual([]);
  });
});

describe('folders', () => {
  const files = (options = {}): string[] =>
    [...rigFilesBelow(folder, options)].flat().map((path) => path.slice(folder.length + 1));

  it('are searched through links once, without hidden ones, whatever lies in them', () => {
    mkdirSync(at('b/c'), { recursive: true });
    mkdirSync(at('.hidden'));
    mkdirSync(at('node_modules'));
    for (const name of ['a.rig', 'b/x.rig', 'b/c/y.rig', '.hidden/n.rig', 'node_modules/n.rig', 'note.txt'])
      writeFileSync(at(name), '');
    symlinkSync('..', at('b/up'));
    symlinkSync('round', at('round'));
    symlinkSync('nowhere', at('dangling'));
    symlinkSync('nowhere.rig', at('lost.rig'));
    linkSync(at('a.rig'), at('same.rig'));
    expect(files()).toEqual(['a.rig', 'lost.rig', 'same.rig', 'b/x.rig', 'b/c/y.rig']);
  });

  it('limits count inside a folder too', () => {
    for (let i = 0; i < 20; i++) writeFileSync(at(`${i}.rig`), '');
    expect(files({ files: 7 })).toHaveLength(7);
  });

  it('kinds of paths', () => {
    symlinkSync('nowhere', at('dangling'));
    expect([pathKind(folder), pathKind('/dev/zero'), pathKind(at('dangling')), pathKind(at('none'))]).toEqual([
      'folder',
      'file',
      'file',
      null,
    ]);
  });
});
