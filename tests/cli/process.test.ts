/** The program as a process: files, pipes and disks that do not do what one hopes. One sentence and a documented exit code, always. */
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bundleProgram } from '../lsp/bundle';

const home = mkdtempSync(join(tmpdir(), 'caisson-cli-'));
afterAll(() => rmSync(home, { recursive: true, force: true }));
const SOUND = 'rig r {\n  medium air\n  switch s = off\n}\n';
let program = '';
beforeAll(async () => {
  program = await bundleProgram();
  writeFileSync(join(home, 'sound.rig'), SOUND);
});

/** Runs a line of the shell in which `caisson` is the program. */
function shell(line: string) {
  const script = `caisson() { ${JSON.stringify(process.execPath)} ${JSON.stringify(program)} "$@"; }\n${line}`;
  const run = spawnSync('bash', ['-c', script], { cwd: home, encoding: 'utf8', timeout: 60_000 });
  return { code: run.status, out: run.stdout, err: run.stderr };
}
const sentence = /^caisson: [^\n]+\.\n$/;

describe('one sentence and exit code 2', () => {
  it.each([
    ["caisson format ''", 'A file name is empty'],
    ["caisson check ''", 'A file name is empty'],
    ["caisson diagram sound.rig --out ''", '--out wants a value'],
    ['caisson check /dev/zero', 'not a regular file'],
    ['mkfifo pipe.fifo; caisson check pipe.fifo', 'not a regular file'],
    ['caisson check none.rig', 'There is no file or folder'],
    ['ln -sf round.x round.x; caisson check round.x', 'links form a circle'],
    ["printf 'rig r { } # \\xe9' > latin.x; caisson format latin.x", 'is not UTF-8 text'],
    ["printf '\\xff\\xfer\\0i\\0' > wide.x; caisson check wide.x", 'is UTF-16 text'],
    ['head -c 5000000 /dev/zero > large.x; caisson check large.x', 'larger than 4 MB'],
    ['caisson diagram sound.rig --out x.pdf', 'ends in .pdf'],
    ['caisson diagram sound.rig --format png --out x.svg', 'ends in .svg, but --format is png'],
    ['caisson trace sound.rig --out x.txt', 'ends in .txt'],
    ['caisson flow sound.rig --svg x.png', 'ends in .png'],
    ['caisson diagram sound.rig --out none/x.svg', 'cannot be written'],
    ['mkdir -p folder.svg; caisson diagram sound.rig --out folder.svg', 'it is a folder'],
    ['caisson timing sound.rig > /dev/full', 'the disk is full'],
    ['caisson --help > /dev/full', 'the disk is full'],
    ['caisson check - < /dev/full; true; caisson check - < .', 'folder'],
  ])('%s', (line, words) => {
    const run = shell(line);
    expect(run.err.split('\n').at(-2)).toContain(words);
    expect(run.err).toMatch(/^(caisson: [^\n]+\.\n)+$/);
    expect(run.code).toBe(2);
  });

  it('a reader that ends early', () => {
    const run = shell(
      'set -o pipefail; caisson explain 2> err.txt | head -c 1 > /dev/null; code=$?; cat err.txt; exit $code',
    );
    // `explain` may be through before the reader has gone.
    expect([run.code, run.out]).toEqual(run.out === '' ? [0, ''] : [2, expect.stringMatching(sentence)]);
    const closed = shell('caisson explain 2>&1 >&3 3>&1 | cat > err.txt; cat err.txt');
    expect(closed.err).toBe('');
  });
});

describe('a folder', () => {
  it('with files that cannot be read: they are named, the others are checked, the exit code is 2', () => {
    mkdirSync(join(home, 'mixed'));
    writeFileSync(join(home, 'mixed/sound.rig'), SOUND);
    writeFileSync(join(home, 'mixed/latin.rig'), Buffer.from('# \xe9\n', 'latin1'));
    symlinkSync('nowhere', join(home, 'mixed/lost.rig'));
    symlinkSync('..', join(home, 'mixed/up'));
    const run = shell('caisson check --format json mixed');
    expect(run.code).toBe(2);
    expect(run.err.match(/^caisson: .*$/gm)).toEqual([
      expect.stringContaining('latin.rig is not UTF-8'),
      expect.stringContaining('lost.rig cannot be read'),
    ]);
    expect(JSON.parse(run.out).files).toContain('mixed/sound.rig');
  });
});

describe('format', () => {
  it('keeps a byte order mark and never rewrites what is not UTF-8', () => {
    writeFileSync(join(home, 'mark.rig'), '\uFEFFrig r {\nswitch s=off\n}\n');
    expect(shell('caisson format mark.rig').code).toBe(0);
    expect(readFileSync(join(home, 'mark.rig'), 'utf8')).toBe('\uFEFFrig r {\n  switch s = off\n}\n');
    const latin = Buffer.from('rig r {\nswitch s=off # \xe9\n}\n', 'latin1');
    writeFileSync(join(home, 'latin1.rig'), latin);
    expect(shell('caisson format latin1.rig').code).toBe(2);
    expect(readFileSync(join(home, 'latin1.rig'))).toEqual(latin);
  });

  it('leaves the file whole when the disk ends', () => {
    const switches = Array.from({ length: 60 }, (_, i) => `switch s${i}=off # a long remark about it\n`);
    const text = `rig r {\n${switches.join('')}}\n`;
    writeFileSync(join(home, 'quota.rig'), text);
    const run = shell("ulimit -f 1; trap '' XFSZ; caisson format quota.rig");
    expect(run.code).toBe(2);
    expect(run.err).toMatch(sentence);
    expect(readFileSync(join(home, 'quota.rig'), 'utf8')).toBe(text);
  });
});

describe('imports', () => {
  it.each([
    ['/dev/zero', 'not a regular file'],
    ['pipe.fifo', 'not a regular file'],
    ['.', 'is a folder'],
    ['large.x', 'larger than 4 MB'],
    ['wide.x', 'is UTF-16 text'],
    ['//host/share/x.rig', 'other machines'],
    ['\\\\\\\\host\\\\share\\\\x.rig', 'other machines'],
    ['file://host/x.rig', 'other machines'],
    ['http://host/x.rig', 'is not a file on this machine'],
    ['none.rig', 'there is no such file'],
  ])('%s', (path, words) => {
    shell('mkfifo pipe.fifo');
    writeFileSync(join(home, 'importing.rig'), `import "${path}"\n${SOUND}`);
    const run = shell('caisson check importing.rig');
    expect(run.out).toContain(words);
    expect(run.out).toContain('import/missing');
    expect(run.code).toBe(1);
  });
});
