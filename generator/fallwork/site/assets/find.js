/* A field that leaves of a page's entries and table rows those that hold all the words typed into
   it. Without this script the page shows everything. In the site's own search an apostrophe becomes
   the one that pages have. */
{
  document.addEventListener("input", ({ target }) => {
    if (target.matches("[data-md-component=search-query]") && target.value.includes("'"))
      target.value = target.value.replaceAll("'", "’")
  })

  const plain = text => text.toLowerCase().replace(/\u2212/g, "-").replaceAll("’", "'").replace(/(\d),(\d)/g, "$1.$2")
  const counted = (number, one, more) => `${number} ${number === 1 ? one : more}`

  function within(place) {
    const root = place.closest("article") ?? document
    const entries = [...root.querySelectorAll(".fw-entry")]
    const rows = [...root.querySelectorAll("tbody tr")]
    return { entries, rows, words: new Map([...entries, ...rows].map(each => [each, plain(each.textContent)])) }
  }

  function narrow({ entries, rows, words }, typed, said) {
    const wanted = plain(typed).split(/\s+/).filter(Boolean)
    const left = parts => parts.filter(part => {
      part.hidden = !wanted.every(word => words.get(part).includes(word))
      return !part.hidden
    }).length
    const found = [
      counted(left(entries), "step", "steps"),
      counted(left(rows), "number", "numbers"),
    ]
    said.textContent = wanted.length ? `Found: ${found.join(" and ")}.` : ""
  }

  for (const place of document.querySelectorAll(".fw-find")) {
    const label = document.createElement("label")
    const field = document.createElement("input")
    const said = document.createElement("p")
    field.type = "search"
    field.autocomplete = "off"
    said.setAttribute("role", "status")
    label.append(place.dataset.fwFind, field)
    place.append(label, said)
    const parts = within(place)
    field.addEventListener("input", () => narrow(parts, field.value, said))
  }
}
