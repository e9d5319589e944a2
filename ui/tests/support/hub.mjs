/** A hub of a walk's own, a real one, that can be stopped and started again. */

import { execFile, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { drawn, onTerminal } from './camera.mjs';

const run = promisify(execFile);

/** The program, as `cargo xtask browser` built it. */
const PROGRAM = process.env.AIRSHELF_PROGRAM;

export class Hub {
  #folder = mkdtempSync(join(tmpdir(), 'airshelf-walk-'));
  #child = null;
  #port = 0;
  url = '';

  /** A hub on a demo shelf of its own. */
  static async start() {
    if (!PROGRAM) throw new Error('AIRSHELF_PROGRAM names no program; cargo xtask browser does');
    const hub = new Hub();
    await run(PROGRAM, hub.#words('demo'), hub.#about());
    await hub.begin();
    return hub;
  }

  #words(...words) {
    return ['--shelf', join(this.#folder, 'shelf'), ...words];
  }

  #about() {
    const { XDG_CONFIG_HOME: _, ...env } = process.env;
    return { env: { ...env, HOME: this.#folder } };
  }

  /** Runs it, on the port that it had before. */
  async begin() {
    const words = this.#words('--json', 'serve', '--port', String(this.#port));
    const child = (this.#child = spawn(PROGRAM, words, { ...this.#about(), stdio: ['ignore', 'pipe', 'ignore'] }));
    const told = await new Promise((done, failed) => {
      let text = '';
      child.once('exit', (code) => failed(new Error(`the hub ended with ${code} before it told its address`)));
      child.stdout.setEncoding('utf8').on('data', (more) => {
        text += more;
        try {
          done(JSON.parse(text));
        } catch {
          // There is more to come.
        }
      });
    });
    this.url = told.url;
    this.#port = Number(new URL(told.url).port);
    return told;
  }

  /** A link that pairs one device. */
  async invite() {
    const { stdout } = await run(PROGRAM, this.#words('--json', 'pair'), this.#about());
    return JSON.parse(stdout).link;
  }

  /** The picture of such a link, as a terminal shows it. */
  async invitation() {
    return drawn(await onTerminal(PROGRAM, this.#words('pair'), this.#about()));
  }

  /** What a command says of the hub's own shelf. */
  async says(...words) {
    const { stdout } = await run(PROGRAM, this.#words('--json', ...words), this.#about());
    return JSON.parse(stdout);
  }

  /** Ends its process. */
  async stop() {
    const child = this.#child;
    if (!child || child.exitCode !== null) return;
    const ended = new Promise((done) => child.once('exit', done));
    child.kill('SIGTERM');
    await ended;
    this.#child = null;
  }

  /** Ends it for good. */
  async end() {
    await this.stop();
    rmSync(this.#folder, { recursive: true, force: true });
  }
}
