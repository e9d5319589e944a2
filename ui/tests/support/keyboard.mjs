/** A page used by keyboard alone: where the focus is, whether it can be seen, and the way to something by Tab. */

/** More stops than any page has; a way that is longer goes around in circles. */
const STOPS = 150;

/** What has the focus: its name, and what is wrong with how it shows that. */
export function focus(page) {
  return page.evaluate(() => {
    const at = document.activeElement;
    if (!at || at === document.body) return { name: '', role: '', flaw: null };
    const label = at.labels?.[0];
    const name = (at.getAttribute('aria-label') ?? label?.innerText ?? at.innerText ?? at.title ?? '').trim();
    const rings = [at, label, at.closest('label, .line'), at.closest('li'), at.previousElementSibling].filter(Boolean);
    const ringed = rings.some((one) => {
      const { outlineStyle, outlineWidth, boxShadow } = getComputedStyle(one);
      const underlined = one.matches('.line') && boxShadow !== 'none';
      return (outlineStyle !== 'none' && parseFloat(outlineWidth) >= 2) || underlined;
    });
    // What is drawn for it: itself, or the label of an input that stands behind it.
    const box = rings.map((one) => one.getBoundingClientRect()).find((one) => one.width > 4 && one.height > 4);
    let flaw = ringed ? null : 'the focus cannot be seen';
    if (!box) flaw = 'it is nowhere on the page';
    else {
      const [x, y] = [box.left + box.width / 2, box.top + Math.min(box.height / 2, 20)];
      const hit = document.elementFromPoint(x, y);
      const own =
        hit && (rings.some((one) => one.contains(hit) || hit.contains(one)) || hit.closest('label') === label);
      if (!own) flaw = `it is hidden behind ${hit ? hit.outerHTML.slice(0, 80) : 'the edge of the screen'}`;
    }
    return { name, role: at.getAttribute('role') ?? at.localName, flaw };
  });
}

/** Presses Tab until what has the focus is called so; every stop on the way must show that it has it. */
export async function reach(page, name, ok) {
  const fits = (one) =>
    name instanceof RegExp ? name.test(one.name) : one.name === name || one.name.startsWith(`${name}\n`);
  const passed = [];
  for (let stop = 0; stop < STOPS; stop++) {
    await page.keyboard.press('Tab');
    const at = await focus(page);
    if (at.flaw) ok(false, `by keyboard, ${page.url().split('#')[1]}, “${at.name}”: ${at.flaw}`);
    if (fits(at)) return at;
    passed.push(at.name.slice(0, 30).replaceAll('\n', ' '));
  }
  throw new Error(`no Tab leads to ${name}; it leads to ${[...new Set(passed)].join(' | ')}`);
}

/** Goes to something by Tab and presses Enter on it. */
export async function press(page, name, ok) {
  await reach(page, name, ok);
  await page.keyboard.press('Enter');
}
