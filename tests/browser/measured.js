// Words that are to be seen (a formula is one), elements, how many folds are open, and tables that scroll
// once all are.
() => {
  const words = node => {
    if (node.nodeType === 3) return (node.nodeValue.match(/[\p{L}\p{N}]\S*/gu) ?? []).length
    if (node.nodeType !== 1 || node.matches("script, style, template, svg")) return 0
    if (!node.checkVisibility({checkVisibilityCSS: true})) return 0
    if (node.matches("math, .fw-formula")) return 1
    return [...node.childNodes].reduce((sum, each) => sum + words(each), 0)
  }
  const found = {words: words(document.querySelector("article")),
                 nodes: document.querySelectorAll("*").length,
                 open: document.querySelectorAll("article details.fw-fold[open]").length}
  for (const fold of document.querySelectorAll("article details")) fold.open = true
  return {...found, wide: [...document.querySelectorAll("article .fw-scroll")]
    .filter(box => box.scrollWidth > box.clientWidth).map(box => box.textContent.slice(0, 60))}
}
