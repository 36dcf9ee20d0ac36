// Everything that may be cut or stand alone gets an address, and a link to it that takes no room: only then does
// the printed page tell where it stands. Gives of each card what is in it, and of each heading what follows it.
() => {
  const links = document.createElement("nav")
  links.style.cssText = "position: absolute; font-size: 1px"
  const seen = (root, parts) => [...root.querySelectorAll(parts)].filter(e => e.checkVisibility())
  let marked = 0
  const mark = e => {
    e.id ||= `at-${marked++}`
    const link = document.createElement("a")
    link.href = `#${e.id}`
    link.textContent = "."
    links.append(link)
    return e.id
  }
  const after = e => {
    do e = e.nextElementSibling ?? e.parentElement
    while (!e.checkVisibility() || !e.getBoundingClientRect().height)
    return e
  }
  const article = document.querySelector("article")
  const inside = "h3, :not(header) > p, li, tr, figure, svg, div.fw-formula"
  const found = {
    cards: seen(article, ".fw-card, figure").map(e => [mark(e), seen(e, inside).map(mark)]),
    heads: seen(article, "h2, h3").map(e => [mark(e), mark(after(e))]),
  }
  article.append(links)
  return found
}
