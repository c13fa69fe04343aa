"""What tests ask an open page, as JavaScript that runs in it."""

#: Every link: its address, whether the place on the page that it names is there, the words a reader gets.
LINKS = """() => [...document.querySelectorAll('a, area')].map(link => {
  const to = link.getAttribute('href') ?? link.getAttributeNS('http://www.w3.org/1999/xlink', 'href');
  const id = to?.startsWith('#') ? decodeURIComponent(to.slice(1)) : null;
  return {to, found: id === null || document.getElementById(id) !== null, words: link.textContent.trim() ||
    link.getAttribute('aria-label') || link.querySelector('img')?.alt || ''};
})"""

#: What the Tab key has to reach, in order of the document: everything a pointer can work, as far as it can be seen.
#: Beside it, how each looks without the focus.
REACHABLE = """() => {
  const shown = ['outlineStyle', 'outlineWidth', 'boxShadow', 'stroke', 'strokeWidth', 'backgroundColor', 'top'];
  window.look = one => JSON.stringify([one, ...one.querySelectorAll('*')].map(
    part => { const style = getComputedStyle(part); return shown.map(name => style[name]); }));
  document.activeElement.blur(); getSelection().removeAllRanges(); scrollTo(0, 0);
  const all = [...document.querySelectorAll('a[href], button, summary, input, select, textarea, [tabindex]')];
  window.reachable = all.filter(one => one.tabIndex >= 0 && one.checkVisibility());
  window.unfocused = window.reachable.map(window.look);
  return window.reachable.length;
}"""

#: The element that has the focus: its place in that list, whether it looks another way now, and lies in the window.
FOCUSED = """() => {
  const one = document.activeElement, number = window.reachable.indexOf(one), box = one.getBoundingClientRect();
  return {number, seen: number >= 0 && window.look(one) !== window.unfocused[number] && box.width > 0,
    inside: box.bottom > 0 && box.top < innerHeight, what: one.outerHTML.slice(0, 120)};
}"""

PAPER_COLOUR = "getComputedStyle(document.body).backgroundColor"

#: How wide the page wants to be and how wide it may; what hides the difference; what sticks out.
OVERFLOW = """() => {
  const root = document.documentElement;
  const cut = [root, document.body].filter(one => ['hidden', 'clip'].includes(getComputedStyle(one).overflowX));
  const wide = [...document.body.querySelectorAll('*')].filter(one => {
    const box = one.getBoundingClientRect();
    return box.right > root.clientWidth + 1 && box.width > 0 && box.height > 0;
  });
  return {scroll: root.scrollWidth, room: root.clientWidth, cut: cut.length,
    wide: wide.slice(0, 5).map(one => one.outerHTML.slice(0, 120))};
}"""

#: Every picture: whether it was decoded, and whether words stand for it (WCAG 2.2, 1.1.1).
PICTURES = """() => Promise.all([...document.images].map(async one => ({
  shown: await one.decode().then(() => one.naturalWidth > 0, () => false), words: one.alt, source: one.src.slice(0, 40)
})))"""
