/** The desktop program under the system's own driver of windows: a session, what is found in it, and how it is killed. */

import { execFile, spawn } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { join } from 'node:path';
import { promisify } from 'node:util';
import webdriver from 'selenium-webdriver';
import { HttpClient, Executor } from 'selenium-webdriver/http/index.js';

const { By, Capabilities, Key, WebDriver } = webdriver;
const WAIT_MS = 30_000;
const run = promisify(execFile);

/** A port that is free now. */
export function freePort() {
  return new Promise((done, failed) => {
    const server = createServer();
    server.on('error', failed);
    server.listen(0, '127.0.0.1', () => {
      const { port } = server.address();
      server.close(() => done(port));
    });
  });
}

/** The text of an XPath string, whatever quotes it holds. */
const quoted = (text) =>
  `concat('', ${text
    .split("'")
    .map((part) => `'${part}'`)
    .join(`, "'", `)})`;
const SAYS = (text) => `contains(normalize-space(.), ${quoted(text)})`;

export class Program {
  /** Starts the program at `binary` on the folder `data`, in a window of its own. */
  static async start({ binary, data, shots, more = [] }) {
    const port = await freePort();
    const server = spawn('WebKitWebDriver', [`--port=${port}`, '--host=127.0.0.1'], {
      env: { ...process.env, TAURI_WEBVIEW_AUTOMATION: 'true', WEBKIT_DISABLE_DMABUF_RENDERER: '1' },
      stdio: ['ignore', 'inherit', 'inherit'],
    });
    const program = new Program();
    Object.assign(program, { server, binary, data, shots, killed: false });
    const asked = new Capabilities({
      browserName: 'wry',
      'webkitgtk:browserOptions': { binary, args: ['--data', data, ...more] },
    });
    const until = Date.now() + WAIT_MS;
    for (;;) {
      try {
        program.driver = WebDriver.createSession(new Executor(new HttpClient(`http://127.0.0.1:${port}`)), asked);
        await program.driver.getSession();
        // What is asked of a page while another takes its place may never be answered; this waits until it is there.
        await program.driver.get('tauri://localhost/');
        break;
      } catch (error) {
        if (!String(error).includes('ECONNREFUSED') || Date.now() > until) throw error;
        await new Promise((later) => setTimeout(later, 100));
      }
    }
    return program;
  }

  /** The process of the window. */
  get pid() {
    const is = (pid) => {
      try {
        const words = readFileSync(`/proc/${pid}/cmdline`, 'utf8').split('\0');
        return words[0] === this.binary && words.includes(this.data);
      } catch {
        return false;
      }
    };
    const found = readdirSync('/proc').find((pid) => /^\d+$/.test(pid) && is(pid));
    if (!found) throw new Error('the program does not run');
    return Number(found);
  }

  /** Ends the process without a word. */
  async kill() {
    const { pid } = this;
    process.kill(pid, 'SIGKILL');
    await gone(pid);
    this.killed = true;
    this.server.kill();
  }

  /** Ends it as the system does. */
  async end() {
    if (!this.killed) {
      const { pid } = this;
      process.kill(pid, 'SIGTERM');
      await gone(pid);
    }
    this.server.kill();
  }

  /** The first shown element with a role (or a tag) that says something. */
  find(kind, text, within = '') {
    const kinds = {
      button: 'button | //input[@type="submit"]',
      link: 'a',
      heading: 'h1 | //h2 | //h3',
      any: '*[not(self::script) and not(self::style)]',
    };
    const tags = (kinds[kind] ?? kind).split(' | //');
    return this.#shown(tags.map((tag) => `${within}//${tag}[${SAYS(text)}]`).join(' | '), `${kind} “${text}”`);
  }

  /** The field that a label names. */
  field(label) {
    const named = `//label[starts-with(normalize-space(.), ${quoted(label)})]`;
    const inside = `${named}//*[self::input or self::select or self::textarea]`;
    const apart = `//*[self::input or self::select or self::textarea][@id = ${named}/@for]`;
    const said = `//*[@aria-label = ${quoted(label)}]`;
    return this.#shown(`${inside} | ${apart} | ${said}`, `field “${label}”`);
  }

  /** Clicks it, once nothing stands before it. */
  async click(kind, text, within) {
    const clicked = async () => {
      await (await this.find(kind, text, within)).click();
      return true;
    };
    await this.until(clicked, `a click on ${kind} “${text}”`);
  }

  async fill(label, text) {
    const field = await this.field(label);
    await field.clear();
    await field.sendKeys(text);
  }

  /** Clicks the first element that a selector of CSS finds. */
  async press(selector) {
    await (await this.until(() => this.driver.findElement(By.css(selector)), selector)).click();
  }

  keys(...keys) {
    return this.driver
      .actions()
      .sendKeys(...keys)
      .perform();
  }

  async go(hash) {
    await this.run((to) => (location.hash = to), hash);
    // A page puts itself where it was, frame by frame, and would slip away under a click.
    await this.run(async () => {
      for (let frame = 0; frame < 15; frame++) await new Promise(requestAnimationFrame);
    });
    await new Promise((later) => setTimeout(later, 300));
  }

  /** Runs a function within the page, which may promise something. */
  run(what, ...given) {
    const script = `const done = arguments[arguments.length - 1];
      Promise.resolve((${what}).apply(null, arguments)).then((is) => done({ is }), (error) => done({ error: String(error?.message ?? error) }));`;
    return this.driver.executeAsyncScript(script, ...given).then((got) => {
      if (got.error) throw new Error(got.error);
      return got.is;
    });
  }

  /** A picture of the display, the window's menu included; the driver's own never comes where nothing on the page moves. */
  async picture(name) {
    // What has just come still moves for a moment.
    await new Promise((later) => setTimeout(later, 400));
    await run('scrot', ['--overwrite', join(this.shots, `desktop-${name}.png`)]);
  }

  /** Tries until something is there. */
  async until(what, said, ms = WAIT_MS) {
    const end = Date.now() + ms;
    let last;
    for (;;) {
      try {
        const got = await what();
        if (got) return got;
      } catch (error) {
        last = error;
      }
      if (Date.now() > end) throw new Error(`waited in vain for ${said}${last ? `: ${last.message}` : ''}`);
      await new Promise((later) => setTimeout(later, 50));
    }
  }

  #shown(path, said) {
    return this.until(async () => {
      const all = await this.driver.findElements(By.xpath(path));
      // The innermost comes last in the document, and is what says it.
      for (const one of all.reverse()) if (await one.isDisplayed()) return one;
      return null;
    }, said);
  }
}

async function gone(pid) {
  for (let tries = 0; tries < 300; tries++) {
    try {
      process.kill(pid, 0);
    } catch {
      return;
    }
    await new Promise((later) => setTimeout(later, 50));
  }
  throw new Error('the program does not end');
}

export { By, Key };
