"""What is looked at on a page in a browser: accessibility, overflow, cut text, target sizes.

References:
    WCAG 2.2 (W3C Recommendation, 5 October 2023): 1.4.4 Resize Text, 1.4.10 Reflow,
    1.4.12 Text Spacing, and what axe-core checks at levels A and AA. Targets of 44 px are a
    rule of our own (2.5.5, AAA).
"""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
COLOUR_RULES = ["color-contrast", "link-in-text-block"]
RUN_AXE = "wanted => axe.run(document, {runOnly: wanted})"

OVERFLOW = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"

SMALL_TARGETS = """() => [...document.querySelectorAll(`button, .button, .places a, summary,
  .choice, select, textarea, input:not([type=hidden], [type=radio], [type=checkbox])`)]
  .filter(one => one.checkVisibility() && one.getBoundingClientRect().height < 43.9)
  .map(one => one.outerHTML.slice(0, 160))"""

# Every line of text must lie inside the page and inside the box that is drawn around it.
TEXT_PAST_ITS_BOX = """() => {
  const boxes = 'button, .button, summary, label, legend, fieldset, .card, td, th, li, main';
  const found = [];
  const page = document.documentElement.clientWidth;
  const all = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (all.nextNode()) {
    const text = all.currentNode, holder = text.parentElement;
    if (!text.data.trim() || !holder.checkVisibility()) continue;
    if (holder.closest('svg, .scroll, option, .skip')) continue;
    const range = document.createRange();
    range.selectNodeContents(text);
    for (const line of range.getClientRects()) {
      if (line.right < 0 || line.width === 0) continue;
      let past = line.left < -1 || line.right > page + 1 ? 'the page' : '';
      for (let box = holder.closest(boxes); box && !past; box = box.parentElement.closest(boxes)) {
        const edge = box.getBoundingClientRect();
        if (getComputedStyle(box).display === 'inline') continue;
        if (line.left < edge.left - 1 || line.right > edge.right + 1
            || line.bottom > edge.bottom + 6 || line.top < edge.top - 6) past = box.localName;
      }
      if (past) found.push(`"${text.data.trim().slice(0, 60)}" reaches past ${past}`);
    }
  }
  return [...new Set(found)];
}"""

# A field with room for fewer than five characters cannot show what stands in it.
NARROW_FIELDS = """() => [...document.querySelectorAll(
  'select, textarea, input:not([type=hidden], [type=radio], [type=checkbox])')]
  .filter(one => one.checkVisibility()
    && one.clientWidth < 4 * parseFloat(getComputedStyle(one).fontSize))
  .map(one => one.outerHTML.slice(0, 160))"""

# A sheet made by a script is not stopped by the page's policy for styles.
SPACE_TEXT_OUT = """() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(`* { line-height: 1.5 !important; letter-spacing: 0.12em !important;
    word-spacing: 0.16em !important } p { margin-bottom: 2em !important }`);
  document.adoptedStyleSheets = [sheet];
}"""
SPACE_AS_BEFORE = "() => { document.adoptedStyleSheets = [] }"
OPEN_DETAILS = "() => document.querySelectorAll('details').forEach(one => one.open = true)"
TEXT_SIZE = "() => parseFloat(getComputedStyle(document.body).fontSize)"


def axe_finds(page: Page, axe_source: str, *, only_colours: bool = False) -> list[str]:
    """What axe-core objects to at levels A and AA."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(axe_source)
    wanted: dict[str, Any] = {"type": "tag", "values": RULES}
    if only_colours:
        wanted = {"type": "rule", "values": COLOUR_RULES}
    found: dict[str, Any] = page.evaluate(RUN_AXE, wanted)
    assert len(found["passes"]) > (0 if only_colours else 5)
    return [f"{one['id']}: {one['nodes'][0]['html']}" for one in found["violations"]]


def does_not_fit(page: Page) -> list[str]:
    """Whatever is wider than the page or than its own box, or is too small to hit."""
    wide = int(page.evaluate(OVERFLOW))
    found = [f"{wide} px wider than the window"] if wide > 0 else []
    found += page.evaluate(TEXT_PAST_ITS_BOX)
    found += [f"narrow: {one}" for one in page.evaluate(NARROW_FIELDS)]
    return found + [f"small target: {one}" for one in page.evaluate(SMALL_TARGETS)]
