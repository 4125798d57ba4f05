"""Which letters of a page axe must judge, of many that look the same to it.

Most of axe's time goes into contrasts, and most letters of a page look like others before
them. Axe has to judge the first ones of each look. Letters look alike where everything is the same
that decides what axe says of them: their own colours and size, whether they are of a disabled
control or hidden, every ground, opacity and made-up content from there up to the page, and the same
floating thing around them. What another thing floats over, or under, is like nothing else.
"""

from playwright.sync_api import Page

FIRST_OF_EACH = 2
MARK = """(first) => {
  const style = (one, name, of) => getComputedStyle(one, of)[name];
  const area = (one) => one.getBoundingClientRect();
  const floats = (one) => ['absolute', 'fixed', 'sticky'].includes(style(one, 'position'))
    || style(one, 'transform') !== 'none'
    || /-/.test(style(one, 'margin')) || style(one, 'float') !== 'none';
  const all = [...document.body.querySelectorAll('*')].filter((one) => one.checkVisibility());
  const floating = all.filter(floats)
    .map((one) => [one, area(one)]).filter(([, its]) => its.width > 1 && its.height > 1);
  const meets = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom
    && b.top < a.bottom;

  // What lies behind: what is as usual leaves no trace, so that depth does not matter.
  const grounds = new Map();
  const ground = (one) => {
    if (!one) return '';
    if (!grounds.has(one)) {
      const drawn = getComputedStyle(one);
      const own = [drawn.backgroundColor, drawn.backgroundImage, drawn.opacity, drawn.filter,
        drawn.mixBlendMode, drawn.clipPath, drawn.overflow === 'visible' ? '' : drawn.overflow,
        drawn.overflow !== 'visible' && area(one).width <= 2 ? 'hidden' : '',
        ...['::before', '::after'].map((of) => {
          const made = getComputedStyle(one, of);
          return ['none', 'normal'].includes(made.content) ? ''
            : `${made.position} ${made.backgroundColor} ${made.backgroundImage}`;
        })];
      if (floats(one)) own.push(all.indexOf(one));
      const usual = own.join() === 'rgba(0, 0, 0, 0),none,1,none,normal,none,,,,';
      grounds.set(one, ground(one.parentElement) + (usual ? '' : '|' + own.join()));
    }
    return grounds.get(one);
  };

  const seen = new Map();
  for (const one of all) {
    delete one.dataset.judged;
    const words = [...one.childNodes].filter((node) => node.nodeType === Node.TEXT_NODE)
      .map((node) => node.data.trim()).join('');
    const typed = one.matches('input, select, textarea');
    if (!words && !typed) continue;
    const drawn = getComputedStyle(one);
    const control = one.closest('label, [aria-labelledby]')?.control ?? one;
    const here = area(one);
    const covered = floating.some(([other, its]) => meets(here, its)
      && !other.contains(one) && !one.contains(other));
    const look = [ground(one), drawn.color, drawn.webkitTextFillColor, drawn.fontSize,
      drawn.fontWeight, drawn.textShadow, drawn.webkitTextStroke, drawn.visibility,
      typed ? `${one.localName} ${one.type} ${!one.value}` : '',
      one.closest(':disabled, [aria-disabled=true], [inert]') || control.matches(':disabled'),
      words.length === 1, /[\\p{L}\\p{N}]/u.test(words), here.width <= 1 || here.height <= 1,
      covered ? all.indexOf(one) : ''].join(';');
    seen.set(look, (seen.get(look) ?? 0) + 1);
    if (seen.get(look) <= first) one.dataset.judged = '';
  }
}"""
# The rule is axe's own; what it is asked about is the marked alone.
ONLY_MARKED = "axe.configure({rules: [{id: 'color-contrast', selector: '[data-judged]'}]})"


def judge_alone_what_differs(page: Page) -> None:
    """Let axe, which is in the page, judge the contrast of the first letters of each look alone."""
    page.evaluate(MARK, FIRST_OF_EACH)
    page.evaluate(ONLY_MARKED)
