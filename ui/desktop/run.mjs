/**
 * Walks through the desktop's window, from its first start over a killed write to everything being there again. Started by
 * `cargo xtask desktop --test`, on a display and a bus of its own.
 */

import { execFile, spawn } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { freePort, Key, Program } from './program.mjs';

const binary = process.env.AIRSHELF_DESKTOP;
const command = process.env.AIRSHELF_COMMAND;
const folder = process.env.AIRSHELF_FOLDER;
const shots = process.env.AIRSHELF_SHOTS;
const data = join(folder, 'data');
const run = promisify(execFile);
mkdirSync(shots, { recursive: true });

let held = 0;
let failed = 0;

/** A fact that must hold. */
function ok(condition, fact) {
  if (condition) held += 1;
  else {
    failed += 1;
    console.error(`  not so: ${fact}`);
  }
}

/** The command on a shelf beside the desktop's. */
const airshelf = (shelf, ...words) => run(command, ['--shelf', shelf, ...words]);

const port = await freePort();
const start = (at = data, more = ['--port', String(port)]) => Program.start({ binary, data: at, shots, more });

/** One flow with a digit too many. */
const SHEET = join(folder, 'loop.csv');
writeFileSync(
  SHEET,
  `session;Loop night
range;300 CFM
run;date;purpose;baseline of;filter;lid;set pressure (inH2O);actual pressure (inH2O);flow (CFM);restraint
1;2024-05-18;baseline;bare;;;20;20.0;251.4;
2;2024-05-18;test;;PF-1;LD-1;20;20.0;2463;fastened
3;2024-05-18;test;;PF-1;LD-1;20;20.0;246.1;fastened
`,
);
/** A sheet whose write takes long enough to be killed in. */
const LONG = join(folder, 'long.csv');
const ROWS = 40_000;
writeFileSync(
  LONG,
  `session;Long nights
range;300 CFM
run;date;purpose;baseline of;filter;lid;set pressure (inH2O);actual pressure (inH2O);flow (CFM);restraint
${Array.from({ length: ROWS }, (_, at) => `${at + 1};2024-05-18;test;;LF-${at % 900};LD-1;20;20.0;${(200 + (at % 400) / 10).toFixed(1)};fastened`).join('\n')}
`,
);

async function firstStart(window) {
  await window.find('button', 'Begin my shelf');
  await window.picture('first-start');
  ok(readdirSync(data).length > 0, 'the folder that was said is used');
  await window.click('button', 'Look around in the demo');
  await window.find('any', 'paper 11 x 2.25');
  await window.picture('demo');
  await window.go('#/findings');
  await window.find('heading', 'Findings');
  await window.picture('demo-findings');
  ok(true, 'the demo opens');

  await window.go('#/device');
  await window.click('button', 'Begin my shelf');
  await window.find('any', 'This is your own shelf');
}

async function bounds(window) {
  const kept = await window.run(() => ({ local: localStorage.length, here: '__TAURI_INTERNALS__' in window }));
  ok(kept.here && kept.local === 0, 'nothing is kept in the window');
  const broken = await window.run(
    () =>
      new Promise((done) => {
        const said = [];
        document.addEventListener('securitypolicyviolation', (event) => said.push(event.effectiveDirective));
        const script = document.createElement('script');
        script.textContent = 'window.was = 1';
        document.head.append(script);
        fetch('https://example.invalid/').catch(() => {});
        setTimeout(() => done({ said, was: window.was ?? 0 }), 300);
      }),
  );
  ok(broken.was === 0 && broken.said.some((one) => one.startsWith('script-src')), 'no script from outside runs');
  ok(broken.said.includes('connect-src'), `the window reaches no network by itself: ${broken.said}`);
  const commands = [
    'plugin:window|close',
    'plugin:dialog|save',
    'plugin:fs|read_file',
    'plugin:webview|create_webview',
  ];
  const refused = await window.run(
    (all) =>
      Promise.all(
        all.map((one) =>
          window.__TAURI_INTERNALS__.invoke(one, {}).then(
            () => one,
            () => null,
          ),
        ),
      ),
    commands,
  );
  ok(
    refused.every((one) => one === null),
    `no command is allowed that the screens do not use: ${refused}`,
  );
  const before = Date.now();
  const second = await run(binary, ['--data', data]).then(
    () => 0,
    (error) => error.code,
  );
  ok(second === 0 && Date.now() - before < 10_000, `a second start leaves the place to the first: ${second}`);
}

async function part(window) {
  await window.go('#/shelf/new');
  await window.fill('Tag', 'QL-014');
  await window.click('label', 'Filter');
  await window.click('button', 'Outside diameter');
  await window.keys('14', Key.ENTER);
  await window.keys('12', Key.ENTER);
  await window.keys('2 15/16', Key.ENTER, Key.ESCAPE, Key.ESCAPE);
  await window.picture('part-half-filled');
  await window.click('button', 'Put it on the shelf');
  await window.find('heading', 'QL-014');
  await window.find('any', 'is on the shelf');
  await window.find('any', '15/16');
  await window.picture('part');
  ok((await window.run(() => scrollY)) === 0, 'a part that was just put on the shelf is shown from its top');
  ok(true, 'a part is put on the shelf');
}

async function reading(window) {
  await window.go('#/bench/equipment/new');
  await window.fill('Name', 'Old Blue');
  await window.click('button', 'Put it in the shed');
  await window.click('button', 'Add a range');
  await window.fill('Full scale', '300 CFM');
  await window.click('button', 'Keep the range');
  await window.find('button', '300 CFM');
  await window.go('#/bench/new');
  await window.fill('Set pressure', '20');
  await window.click('button', 'Begin');
  await window.press('.chips');
  for (const figure of ['2', '7', '7', 'Decimal point', '4']) {
    await window.click('button', figure === 'Decimal point' ? '.' : figure, '//*[contains(@class, "entry")]');
  }
  await window.picture('reading');
  await window.click('button', 'Keep', '//*[contains(@class, "entry")]');
  await window.find('any', '277.4');
  await window.picture('reading-kept');
  ok(true, 'a reading is kept');
}

async function sheet(window) {
  await window.go('#/records');
  const chooser = await window.field('Sheets of old records');
  await chooser.sendKeys(SHEET);
  await window.find('heading', 'loop.csv');
  await window.picture('sheet');
  await window.click('button', 'Keep ');
  await window.find('heading', 'What became of them');
  await window.picture('sheet-kept');
  ok(true, 'a sheet that was chosen is read in');
  // The same by dropping it anywhere on the window.
  await window.go('#/findings');
  await window.run(
    (text) => {
      const dropped = new DataTransfer();
      dropped.items.add(new File([text], 'dropped.csv', { type: 'text/csv' }));
      const at = { dataTransfer: dropped, bubbles: true, cancelable: true };
      document.body.dispatchEvent(new DragEvent('drop', at));
    },
    readFileSync(SHEET, 'utf8').replace('Loop night', 'Dropped night'),
  );
  await window.find('heading', 'dropped.csv');
  await window.click('button', 'Put them away');
  ok(true, 'a sheet that is dropped is shown');
}

async function hub(window) {
  await window.go('#/device');
  await window.find('heading', 'This computer as a hub');
  await window.click('label', 'This computer only');
  await window.click('button', 'The hub is off');
  await window.find('button', 'The hub is on');
  await window.click('button', 'Let a device in');
  await window.find('any', 'Scan the picture');
  await window.picture('hub');
  const health = await fetch(`http://127.0.0.1:${port}/health`);
  ok(health.ok, 'the hub answers');
  const link = await (await window.find('p', '#pair=')).getText();
  const drawn = await window.run(() => document.querySelector('.way-in img').naturalWidth);
  ok(drawn > 0, 'the picture for a camera is drawn');

  const other = join(folder, 'other');
  await airshelf(other, 'sync', link.trim());
  const { stdout } = await airshelf(other, 'find', 'QL-014');
  ok(stdout.includes('QL-014'), 'another device that was let in has the part');
  await airshelf(other, 'part', 'add', 'tag=QL-099', 'kind=filter', 'name=from elsewhere');
  await airshelf(other, 'sync');
  await window.go('#/shelf');
  await window.find('any', 'QL-099');
  ok(true, 'what another device writes shows without being asked for');
}

/** A desktop on a folder of its own joins the shelf of a hub elsewhere, and both see what either writes. */
async function together() {
  const shelf = join(folder, 'elsewhere');
  await airshelf(shelf, 'new');
  await airshelf(shelf, 'part', 'add', 'tag=EL-001', 'kind=filter');
  const serve = spawn(command, ['--shelf', shelf, '--json', 'serve', '--port', '0'], {
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  try {
    let told = '';
    const { invitation } = await new Promise((done, broke) => {
      serve.once('exit', () => broke(new Error('the hub elsewhere does not run')));
      serve.stdout.on('data', (more) => {
        told += more;
        try {
          done(JSON.parse(told));
        } catch {
          // Not whole yet.
        }
      });
    });
    const window = await start(join(folder, 'joining'), []);
    try {
      await window.click('link', 'Join a shelf of mine');
      await window.fill('Address of the hub', invitation.link);
      await window.fill('Name of this device', 'desk in the shed');
      await window.picture('pair');
      await window.click('button', 'Pair');
      await window.find('any', 'Together with the hub');
      await window.picture('together');
      await window.go('#/shelf');
      await window.find('any', 'EL-001');
      ok(true, 'a desktop joins the shelf of a hub');
      await airshelf(shelf, 'part', 'add', 'tag=EL-002', 'kind=lid');
      await window.find('any', 'EL-002');
      ok(true, 'what is written at the hub shows on the desktop');
      await window.go('#/shelf/new');
      await window.fill('Tag', 'EL-003');
      await window.click('label', 'Filter');
      await window.click('button', 'Put it on the shelf');
      await window.find('heading', 'EL-003');
      await window.until(
        async () => (await airshelf(shelf, 'find', 'EL-003')).stdout.includes('EL-003'),
        'EL-003 at the hub',
      );
      ok(true, 'what is written on the desktop reaches the hub by itself');
      await window.go('#/device');
      await window.click('button', 'Part from the hub');
      await window.click('button', 'Part', '//dialog');
      await window.find('any', 'Not paired');
      ok(true, 'the desktop parts from the hub');
    } catch (error) {
      await window.picture('broke-off-together').catch(() => {});
      throw error;
    } finally {
      await window.end();
    }
  } finally {
    serve.kill();
  }
}

/** Whether somebody holds the lock to write to the own shelf: byte 120 of its index (https://sqlite.org/walformat.html). */
function isWriting() {
  const { ino } = statSync(join(data, 'shelf', 'airshelf.db-shm'));
  return new RegExp(`POSIX .* WRITE .*:${ino} 120 120$`, 'm').test(readFileSync('/proc/locks', 'utf8'));
}

/** Killed in the middle of a write, with a form half filled. */
async function killed(window) {
  await window.go('#/shelf/new');
  await window.fill('Tag', 'QL-0HALF');
  await window.until(
    () => readFileSync(join(data, 'half-filled.json'), 'utf8').includes('QL-0HALF'),
    'the half-filled form on the disk',
  );
  await window.go('#/records');
  await (await window.field('Sheets of old records')).sendKeys(LONG);
  const keep = await window.until(() => window.find('button', `Keep ${ROWS} rows`), 'the long sheet', 180_000);
  await keep.click();
  await window.until(isWriting, 'a write that is under way', 180_000);
  await window.go('#/shelf');
  await window.find('any', 'QL-014').catch(async (error) => {
    await window.picture('broke-off-killed');
    throw error;
  });
  ok(isWriting(), 'the shelf is answered while a sheet is written');
  await window.kill();
  const { stdout } = await airshelf(join(data, 'shelf'), '--json', 'find', 'LF-1');
  return stdout.includes('LF-1');
}

async function again(window, whole) {
  await window.find('any', 'QL-014');
  await window.find('any', 'QL-099');
  ok(!whole, 'the write was killed before its end, and nothing of it is there');
  await window.go('#/shelf/new');
  const kept = await (await window.field('Tag')).getAttribute('value');
  ok(kept === 'QL-0HALF', `the half-filled form is there again: ${kept}`);
  await window.go('#/bench');
  await window.find('any', 'Old Blue');
  await window.picture('again-bench');
  await window.go('#/records');
  await window.find('any', 'loop.csv');
  await window.go('#/device');
  await window.find('button', 'The hub is on');
  const health = await fetch(`http://127.0.0.1:${port}/health`);
  ok(health.ok, 'the hub that was on is on again');
  await window.click('button', 'Check the shelf');
  await window.find('any', 'Everything is sound');
  await window.picture('again-sound');
  await window.click('button', 'The hub is on');
  await window.find('button', 'The hub is off');
  const answers = await fetch(`http://127.0.0.1:${port}/health`).then(
    () => true,
    () => false,
  );
  ok(!answers, 'a hub that is turned off answers nobody');
  await window.click('button', 'The hub is off');
  await window.find('button', 'The hub is on');
  await window.end();
  const ended = await fetch(`http://127.0.0.1:${port}/health`).then(
    () => true,
    () => false,
  );
  ok(!ended, 'the hub ends with the window');
}

let window;
try {
  const before = performance.now();
  const step = async (name, does) => {
    const at = performance.now();
    const got = await does();
    console.error(`  ${name} ${((performance.now() - at) / 1000).toFixed(1)} s`);
    return got;
  };
  window = await start();
  await step('first start', () => firstStart(window));
  await step('bounds', () => bounds(window));
  await step('part', () => part(window));
  await step('reading', () => reading(window));
  await step('sheet', () => sheet(window));
  await step('hub', () => hub(window));
  const whole = await step('killed', () => killed(window));
  window = await start();
  await step('again', () => again(window, whole));
  window = null;
  await step('together', together);
  console.error(`  ${((performance.now() - before) / 1000).toFixed(1)} s in all`);
} catch (error) {
  ok(false, `the walk broke off: ${error.stack ?? error}`);
  await window?.picture('broke-off').catch(() => {});
} finally {
  await window?.end().catch(() => {});
}
console.error(`  ${held} facts hold, ${failed} do not; pictures in ${shots}`);
process.exit(failed === 0 && held > 0 ? 0 : 1);
