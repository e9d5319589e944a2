/** A camera that sees what a terminal draws. */

import { execFile } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { promisify } from 'node:util';

/** What a half block draws, above and below. */
const BLOCKS = { ' ': [0, 0], '▀': [1, 0], '▄': [0, 1], '█': [1, 1] };
const [WIDTH, HEIGHT] = [640, 480];
const [DARK, LIGHT, GRAY] = [16, 235, 128];

/** What a command prints on a terminal. */
export async function onTerminal(program, words, about) {
  const quoted = [program, ...words].map((word) => `'${word.replaceAll("'", `'\\''`)}'`).join(' ');
  const { stdout } = await promisify(execFile)(
    'script',
    ['--quiet', '--return', '--command', quoted, '/dev/null'],
    about,
  );
  return stdout;
}

/** The drawing in a terminal's text as rows of light (0) and dark (1); it is drawn in black on white. */
export function drawn(text) {
  const lines = text
    .split(/\r?\n/)
    .filter((line) => line.startsWith('\x1b[30;107m'))
    .map((line) => [...line.replace(/\x1b\[[\d;]*m/g, '')].map((block) => BLOCKS[block]));
  return lines.flatMap((line) => [line.map(([above]) => above), line.map(([, below]) => below)]);
}

/** Writes it as a film for a browser's camera of tests (YUV4MPEG2, 4:2:0): held in front of it, not quite in its middle. */
export function film(rows, file) {
  const size = Math.floor((HEIGHT * 0.8) / rows.length);
  const [left, top] = [Math.floor((WIDTH - size * rows[0].length) / 3), Math.floor((HEIGHT - size * rows.length) / 2)];
  const luma = Buffer.alloc(WIDTH * HEIGHT, LIGHT - 40);
  for (let y = 0; y < rows.length * size; y++) {
    for (let x = 0; x < rows[0].length * size; x++) {
      luma[(top + y) * WIDTH + left + x] = rows[Math.floor(y / size)][Math.floor(x / size)] ? DARK : LIGHT;
    }
  }
  const chroma = Buffer.alloc((WIDTH * HEIGHT) / 2, GRAY);
  const head = `YUV4MPEG2 W${WIDTH} H${HEIGHT} F10:1 Ip A1:1 C420jpeg\n`;
  writeFileSync(file, Buffer.concat([Buffer.from(`${head}FRAME\n`), luma, chroma]));
}
