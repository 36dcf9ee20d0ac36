/* Choose your system: boxes to tick, and the same things to tap in a drawing. At once the page says which forces are
   external, which of them do work, what energies the system has, and the balance: sums of what comes with the page
   (lesson/lab/choosing.py). A formula is a dollar sign with its number in the page's list, a term [sign, formula].
   Each choice has an address. Without this script the fold holds the drawing and a table. */
{
  const STEP = "other-systems"
  const REACH = 22  // px around a tap; so each thing is at least 44 px wide
  const NOISE = 1e-12
  const { element, status, filled, rounded, data: all } = window.fallwork
  const data = all.system
  const words = all.words?.system
  const fold = document.getElementById(`${STEP}-choices`)
  const svg = fold?.querySelector("svg")

  function shown(text) {
    if (!text.startsWith("$")) return text
    const holder = document.createElement("template")
    holder.innerHTML = all.math[Number(text.slice(1))]
    return holder.content.firstChild
  }

  const minus = "\u2212"
  const upper = text => text[0].toUpperCase() + text.slice(1)

  /** An energy or work in joules, rounded for the reader; the value itself stands in the element. */
  function amount(value) {
    const { mantissa, exponent } = rounded(value, data.figures)
    const tail = exponent ? [" × 10", element("sup", String(exponent).replace("-", minus))] : []
    return element("data", [mantissa.replace("-", minus), ...tail, "\u00a0J"], { value: String(value) })
  }

  /** The sum of what is known, without what rounding leaves; null where something isn't known. */
  function total(parts) {
    const values = parts.map(part => part.value)
    if (values.some(value => typeof value !== "number")) return null
    const sum = values.reduce((one, other) => one + other, 0)
    return Math.abs(sum) <= NOISE * values.reduce((one, other) => one + Math.abs(other), 0) ? 0 : sum
  }

  /** A side of the balance: positive terms first. */
  function side(parts) {
    const order = parts.flatMap(each => each.terms).sort((one, other) => other[0] - one[0])
    return order.length === 0 ? ["0"] : order.flatMap(([sign, text], at) => {
      const before = sign < 0 ? (at ? ` ${minus} ` : minus) : at ? " + " : ""
      return [before, shown(text)]
    })
  }

  // ---- what a choice means

  function account(inside) {
    const external = data.forces.filter(each => inside.has(each.on) && !inside.has(each.by))
    return {
      working: external.filter(each => !each.why),
      idle: external.filter(each => each.why),
      internal: data.pairs.filter(each => each.between.every(name => inside.has(name))),
      energies: data.energies.filter(each => each.of.every(name => inside.has(name))),
      featured: data.featured.find(each =>
        each.members.length === inside.size && each.members.every(name => inside.has(name))),
    }
  }

  function named(force) {
    const letter = force.letter ? [" ", shown(force.letter)] : []
    const ends = filled(words.ends, { by: data.called[force.by], on: data.called[force.on] })
    return [element("strong", upper(force.kind)), ...letter, ` ${ends}: `]
  }

  function valued(symbol, { formula, value }) {
    const sides = [...new Set([symbol, formula])].filter(Boolean).map(shown)
    if (typeof value === "number") sides.push(amount(value))
    return sides.flatMap((each, at) => at ? [" = ", each] : [each])
  }

  const items = (title, entries, none = words.none) => [
    element("h4", title),
    entries.length > 0 ? element("ul", entries.map(entry => element("li", entry))) : element("p", none),
  ]

  function told(inside) {
    const { working, idle, internal, energies, featured } = account(inside)
    const works = working.map(each => {
      const work = valued(each.work, each)
      return [...named(each), `${words.work} `, ...(work.length > 0 ? work : [words.open])]
    })
    const pairs = internal.map(({ kind, between, outcome }) => {
      const [one, other] = between.map(name => data.called[name])
      return [element("strong", upper(kind)), ` ${filled(words.pair, { one, other })}: ${outcome}`]
    })
    const held = energies.map(each => {
      const [[sign, first], ...more] = each.terms
      return [`${upper(each.meaning)}: `, sign < 0 ? minus : "", ...valued(more.length > 0 ? null : first, each)]
    })
    const balance = [...side(working), " = ", ...side(energies)]
    const sums = [total(working), total(energies)]
    const numbers = [...data.forces, ...data.energies].some(each => "value" in each)
    const summed = [`${words.done} `, amount(sums[0] ?? 0), `, ${words.gained} `, amount(sums[1] ?? 0)]
    const links = (featured?.steps ?? []).flatMap(([id, title], at) => [
      at ? " · " : ": ", element("a", title, { href: `#${id}` }),
    ])
    return [
      ...(featured ? [element("p", [`${words.featured} “`, element("strong", featured.title), "”", ...links])] : []),
      element("h4", words.balance), element("p", balance, { className: "fw-balance" }),
      ...(numbers && !sums.includes(null) ? [element("p", summed, { className: "fw-sums" })] : []),
      ...items(words.working, works),
      ...items(words.idle, idle.map(each => [...named(each), each.why])),
      ...items(words.energies, held, words["no-energy"]),
      ...items(words.internal, pairs, words["no-pair"]),
      ...(data.part ? [element("p", data.part)] : []),
    ]
  }

  // ---- the drawing

  function made(tag, about) {
    const found = document.createElementNS(svg.namespaceURI, tag)
    for (const [name, value] of Object.entries(about)) found.setAttribute(name, value)
    return found
  }

  /** What is inside is surrounded by one dashed line, behind everything else. */
  function outline(inside) {
    svg.querySelector(".fw-inside")?.remove()
    const group = made("g", { class: "fw-inside" })
    const shapes = [...svg.querySelectorAll("path[data-object]")].filter(each => inside.has(each.dataset.object))
    for (const kind of ["fw-edge", "fw-within"]) {
      group.append(...shapes.map(({ attributes, style }) =>
        made("path", { d: attributes.d.value, class: kind, style: style.fill ? "" : "fill: none" })))
    }
    svg.querySelector("path[data-object]").before(group)
  }

  /** How far a thing is from a place. */
  function distance(part, place) {
    if (part.tagName === "text") {
      const { x, y, width, height } = part.getBBox()
      const aside = Math.max(x - place.x, 0, place.x - x - width)
      return Math.hypot(aside, Math.max(y - place.y, 0, place.y - y - height))
    }
    if (part.style.fill && part.isPointInFill(place)) return 0
    const length = part.getTotalLength()
    let least = Infinity
    for (let along = 0; along <= length; along += 1.5) {
      const point = part.getPointAtLength(along)
      least = Math.min(least, Math.hypot(point.x - place.x, point.y - place.y))
    }
    return least
  }

  /** The thing nearest to a tap, of several the one drawn last; null where none is near. */
  function tapped(event) {
    const matrix = svg.getScreenCTM()
    const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse())
    const near = [...svg.querySelectorAll("[data-object]")].reverse()
      .map(part => ({ name: part.dataset.object, away: distance(part, place) * matrix.a }))
      .sort((one, other) => one.away - other.away)
    return near.length > 0 && near[0].away <= REACH ? near[0].name : null
  }

  // ---- the box

  function build() {
    const names = new URLSearchParams(location.search).get("system")?.split(".") ?? []
    const start = data.things.map(thing => thing.id).filter(id => names.includes(id))
    const inside = new Set(start.length > 0 ? start : data.featured[0]?.members ?? [])
    const said = status()
    const note = element("p")
    const result = element("div")
    const copy = element("button", words.copy, { type: "button", className: "fw-copy" })
    const boxes = new Map(data.things.map(thing => {
      const box = element("input", [], { type: "checkbox", value: thing.id, checked: inside.has(thing.id) })
      box.addEventListener("change", () => set(thing, box.checked))
      return [thing.id, box]
    }))

    function show(change = "") {
      const there = data.things.filter(thing => inside.has(thing.id))
      const query = `?system=${there.map(thing => thing.id).join(".")}#${STEP}`
      const names = there.map(thing => thing.noun).join(", ")
      result.replaceChildren(...(there.length > 0 ? told(inside) : []))
      Object.assign(copy.dataset, { send: query, title: filled(words.sent, { names }) })
      copy.disabled = there.length === 0
      const { working, idle } = account(inside)
      const counts = { forces: working.length + idle.length, working: working.length }
      said.textContent = `${change} ${there.length > 0 ? filled(words.count, counts) : words.empty}`
      outline(inside)
      return query
    }

    function set(thing, wanted) {
      if (wanted) inside.add(thing.id)
      else inside.delete(thing.id)
      boxes.get(thing.id).checked = wanted
      const query = show(filled(wanted ? words.in : words.out, { name: upper(thing.noun) }))
      note.textContent = inside.size === 0 ? "" : wanted ? thing.in : thing.out
      try {
        history.replaceState(history.state, "", query)
      } catch {
        // A browser may refuse it in a folder; the button gives the address.
      }
    }

    const labels = data.things.map(({ id, noun }) => element("label", [boxes.get(id), " ", noun]))
    const figure = svg.closest("figure")
    const table = element("details", element("summary", words.more), { className: "fw-fold" })
    table.append(...[...fold.childNodes].filter(node => node !== figure))
    fold.append(
      element("p", words.tap), element("fieldset", [element("legend", words.choose), ...labels], { className: "fw-things" }),
      element("p", said, { className: "fw-changed" }), figure, note, result, element("p", copy), table,
    )
    svg.classList.add("fw-tapped")
    svg.addEventListener("click", event => {
      const thing = data.things.find(each => each.id === tapped(event))
      if (thing) set(thing, !inside.has(thing.id))
    })
    show()
    if (start.length > 0) fold.closest("details").open = true
  }

  if (data && svg) build()
}
