/* What the tests want to know of an open page, gathered at one go. */
async () => {
  await document.fonts.ready
  const all = (selector, what) => [...document.querySelectorAll(selector)].map(what)
  const text = element => (element ? element.textContent.trim() : "")
  const ink = words => {
    const box = words.getBBox()  // of the whole line: letters take up the middle of it
    return {words: text(words), left: box.x, right: box.x + box.width,
            top: box.y + 0.25 * box.height, bottom: box.y + 0.8 * box.height}
  }
  const clash = (one, other) => one.left + 0.3 < other.right && other.left + 0.3 < one.right
    && one.top + 0.3 < other.bottom && other.top + 0.3 < one.bottom
  const clashes = drawing => {
    const inks = [...drawing.querySelectorAll("text")].map(ink)
    const off = inks.filter(one => one.left < 0 || one.right > drawing.viewBox.baseVal.width)
    const pairs = inks.flatMap((one, at) => inks.slice(at + 1).filter(other => clash(one, other))
      .map(other => `${one.words} on ${other.words}`))
    return [...pairs, ...off.map(one => `${one.words} off the sheet`)]
  }
  return {
    width: document.documentElement.scrollWidth,
    words: document.querySelector("article").innerText,
    formulas: all("math", e => e.getBoundingClientRect().height),
    wide_formulas: all("div.fw-formula", e => e).filter(e => e.scrollWidth > e.clientWidth).map(text),
    fonts: [...document.fonts].filter(f => f.status === "loaded" && !f.family.includes("Like")).map(f => f.family.replaceAll('"', "")),
    drawings: all("figure svg[role=img]", e =>
      e.getAttribute("aria-labelledby").split(" ").map(id => text(document.getElementById(id))).join(" ")),
    clashing_words: all("figure svg[role=img]", clashes).flat(),
    nameless_drawings: all("article svg:not([role=img])", e => e.outerHTML.slice(0, 100)),
    tables: all("article table", e => ({
      caption: text(e.caption),
      columns: e.querySelectorAll("thead th[scope=col]").length,
      rows: e.querySelectorAll("tbody th[scope=row]").length,
    })),
  }
}
