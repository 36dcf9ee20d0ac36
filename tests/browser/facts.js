/* What the tests want to know of an open page, gathered at one go. */
async () => {
  await document.fonts.ready
  const all = (selector, what) => [...document.querySelectorAll(selector)].map(what)
  const text = element => (element ? element.textContent.trim() : "")
  return {
    width: document.documentElement.scrollWidth,
    words: document.querySelector("article").innerText,
    formulas: all("math", e => e.getBoundingClientRect().height),
    wide_formulas: all("div.fw-formula", e => e).filter(e => e.scrollWidth > e.clientWidth).map(text),
    fonts: [...document.fonts].filter(f => f.status === "loaded").map(f => f.family.replaceAll('"', "")),
    drawings: all("figure svg[role=img]", e =>
      e.getAttribute("aria-labelledby").split(" ").map(id => text(document.getElementById(id))).join(" ")),
    nameless_drawings: all("article svg:not([role=img])", e => e.outerHTML.slice(0, 100)),
    tables: all("article table", e => ({
      caption: text(e.caption),
      columns: e.querySelectorAll("thead th[scope=col]").length,
      rows: e.querySelectorAll("tbody th[scope=row]").length,
    })),
  }
}
