/**
 * What a touch on the keypad does to what is written so far. What is written stays as somebody would write it with a
 * pencil (`2 15/16 in`, `−3.5`); what it means is for Rust to say.
 */

export type Key =
  | { readonly digit: string }
  | { readonly point: true }
  | { readonly sign: true }
  | { readonly fraction: Fraction }
  | { readonly unit: string }
  | { readonly back: true }
  | { readonly clear: true };

export type Fraction = '1/2' | '1/4' | '1/8' | '1/16' | '1/32' | '1/64';

interface Written {
  readonly minus: boolean;
  /** `2`, `2.5`, or nothing. */
  readonly figures: string;
  /** `15/16`, or nothing. */
  readonly fraction: string;
  readonly unit: string;
}

/** The text after a touch. Text that no pencil of ours wrote is only added to and taken from at its end. */
export function press(text: string, key: Key, units: readonly string[] = []): string {
  if ('clear' in key) return '';
  const written = read(text, units);
  if (!written) return pressFree(text, key);
  return write(pressed(written, key));
}

function pressed(written: Written, key: Key): Written {
  const { figures, fraction, unit } = written;
  if ('digit' in key) return { ...written, figures: figures === '0' ? key.digit : figures + key.digit };
  if ('point' in key) {
    return figures.includes('.') || fraction ? written : { ...written, figures: `${figures || '0'}.` };
  }
  if ('sign' in key) return { ...written, minus: !written.minus };
  if ('unit' in key) return { ...written, unit: unit === key.unit ? '' : key.unit };
  if ('fraction' in key) return add(written, key.fraction);
  if (unit) return { ...written, unit: '' };
  if (fraction) return { ...written, fraction: '' };
  if (figures) return { ...written, figures: figures.slice(0, -1) };
  return { ...written, minus: false };
}

/** A touch on a fraction adds it, as on a folding rule: 2, a half, a quarter is 2 3/4. */
function add(written: Written, step: Fraction): Written {
  if (written.figures.includes('.')) return written;
  const [top, bottom] = ratio(written.fraction || '0/1');
  const [stepTop, stepBottom] = ratio(step);
  let [sum, of] = [top * stepBottom + stepTop * bottom, bottom * stepBottom];
  const common = divisor(sum, of);
  [sum, of] = [sum / common, of / common];
  const whole = Number(written.figures || '0') + Math.floor(sum / of);
  const rest = sum % of;
  return {
    ...written,
    figures: whole === 0 ? '' : String(whole),
    fraction: rest === 0 ? '' : `${rest}/${of}`,
  };
}

function ratio(text: string): [number, number] {
  const [top, bottom] = text.split('/').map(Number);
  return [top ?? 0, bottom || 1];
}

function divisor(a: number, b: number): number {
  return b === 0 ? a || 1 : divisor(b, a % b);
}

function read(text: string, units: readonly string[]): Written | null {
  const trimmed = text.trim();
  const unit = [...units].sort((a, b) => b.length - a.length).find((one) => trimmed.endsWith(one)) ?? '';
  const number = trimmed.slice(0, trimmed.length - unit.length).trim();
  const found = /^([−-]?)(\d*\.?\d*)(?:(?:^|[ -]|(?<=[−-]))(\d+\/[1-9]\d*))?$/.exec(number);
  if (found) return { minus: found[1] !== '', figures: found[2] ?? '', fraction: found[3] ?? '', unit };
  const alone = /^([−-]?)(\d+\/[1-9]\d*)$/.exec(number);
  return alone ? { minus: alone[1] !== '', figures: '', fraction: alone[2] ?? '', unit } : null;
}

function write({ minus, figures, fraction, unit }: Written): string {
  const number = [figures, fraction].filter(Boolean).join(' ');
  return [`${minus ? '−' : ''}${number}`, unit].filter(Boolean).join(' ');
}

function pressFree(text: string, key: Key): string {
  if ('digit' in key) return text + key.digit;
  if ('point' in key) return `${text}.`;
  if ('fraction' in key) return `${text} ${key.fraction}`;
  if ('unit' in key) return `${text.trimEnd()} ${key.unit}`;
  return 'back' in key ? text.slice(0, -1) : text;
}
