/* Choose your system: boxes to tick, and the same things to tap in a drawing. At once the page says which forces
   become external and which of them do work, which are internal, what energies the system has, and the balance.
   Nothing is worked out here but sums: forces, works and energies come with the page, formulas ready to be shown,
   numbers only where they are released. Each choice has an address. Without this script the fold holds the
   drawing and a table. */
{
  /** @typedef {{id: string, noun: string, in: string, out: string}} Thing */
  /** @typedef {[number, string]} Term  sign and formula */
  /** @typedef {{kind: string, on: string, by: string, letter: ?string, why?: string, work?: ?string,
        formula?: ?string, terms?: Term[], value?: ?number}} Force */
  /** @typedef {{kind: string, of: string[], meaning: string, terms: Term[], formula: ?string, value?: ?number}} Energy */
  /** @typedef {{things: Thing[], called: Object<string, string>, forces: Force[], energies: Energy[],
        pairs: {kind: string, between: string[], outcome: string}[],
        featured: {members: string[], title: string, steps: [string, string][]}[], part: string, figures: number}} System */

  const STEP = "other-systems"
  const REACH = 22  // px around a tap; so each thing is at least 44 px wide
  const NOISE = 1e-12
  const { element, status, filled, rounded, data: all } = window.fallwork
  /** @type {System | undefined} */
  const data = all.system
  const words = all.words?.system
  const fold = document.getElementById(`${STEP}-choices`)

  /** Words, or a formula by its number in the list of the page. @param {string} text */
  function shown(text) {
    if (!text.startsWith("$")) return text
    const holder = document.createElement("template")
    holder.innerHTML = all.math[Number(text.slice(1))]
    return holder.content.firstChild
  }

  const minus = "\u2212"
  const upper = text => text.slice(0, 1).toUpperCase() + text.slice(1)
  const listed = names =>
    [names.slice(0, -1).join(", "), names[names.length - 1] ?? words.nothing].filter(Boolean).join(words.and)

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

  /** One side of the balance: positive terms first. @param {Term[]} terms */
  function side(terms) {
    const order = [...terms].sort((one, other) => other[0] - one[0])
    return order.length === 0 ? ["0"] : order.flatMap(([sign, text], at) => {
      const before = sign < 0 ? (at ? ` ${minus} ` : minus) : at ? " + " : ""
      return [before, shown(text)]
    })
  }

  // ---- what a choice means

  /** @param {Set<string>} inside */
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

  /** @param {Force} force */
  function named(force) {
    const letter = force.letter ? [" ", shown(force.letter)] : []
    const ends = filled(words.ends, { by: data.called[force.by], on: data.called[force.on] })
    return [element("strong", upper(force.kind)), ...letter, ` ${ends}: `]
  }

  /** ``W = T d = 0.4 J``, as far as it is known. */
  function valued(symbol, { formula, value }) {
    const same = formula && formula !== symbol
    const sides = [symbol, same ? formula : null].filter(Boolean).map(shown)
    if (typeof value === "number") sides.push(amount(value))
    return sides.flatMap((each, at) => at ? [" = ", each] : [each])
  }

  const items = (title, entries, none = words.none) => [
    element("h4", title),
    entries.length > 0 ? element("ul", entries.map(entry => element("li", entry))) : element("p", none),
  ]

  /** @param {Set<string>} inside */
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
    const balance = [...side(working.flatMap(each => each.terms)), " = ", ...side(energies.flatMap(each => each.terms))]
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

  const made = (tag, about) => {
    const found = document.createElementNS(fold.querySelector("svg").namespaceURI, tag)
    for (const [name, value] of Object.entries(about)) found.setAttribute(name, value)
    return found
  }

  /** Earth has no place in the sketch: it gets one below. @param {SVGSVGElement} svg */
  function addEarth(svg) {
    const { x, y, width, height } = svg.viewBox.baseVal
    const top = y + height + 7
    const about = { "data-object": "Earth" }
    const ground = { d: `M${x + 9} ${top}H${x + width - 9}V${top + 17}H${x + 9}z` }
    const words = svg.querySelector("g")
    words.before(made("path", { ...about, ...ground, style: "fill: var(--fw-fill); stroke: var(--fw-ink)" }))
    const middle = { x: x + width / 2, y: top + 12, "text-anchor": "middle", style: "fill: var(--fw-ink)" }
    const name = made("text", { ...about, ...middle })
    name.textContent = data.called.Earth
    words.append(name)
    svg.setAttribute("viewBox", `${x} ${y} ${width} ${height + 32}`)
  }

  /** What is inside is surrounded by one dashed line, behind everything else. */
  function outline(svg, inside) {
    svg.querySelector(".fw-inside")?.remove()
    const group = made("g", { class: "fw-inside" })
    const shapes = [...svg.querySelectorAll("path[data-object]")].filter(each => inside.has(each.dataset.object))
    for (const kind of ["fw-edge", "fw-within"]) {
      for (const shape of shapes) {
        const style = shape.style.fill ? "" : "fill: none"
        group.append(made("path", { d: shape.getAttribute("d"), class: kind, style }))
      }
    }
    svg.querySelector("path[data-object]").before(group)
  }

  /** How far a thing is from a place, in units of the drawing. */
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
  function tapped(svg, event) {
    const matrix = svg.getScreenCTM()
    const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse())
    const near = [...svg.querySelectorAll("[data-object]")].reverse()
      .map(part => ({ name: part.dataset.object, away: distance(part, place) * matrix.a }))
      .sort((one, other) => one.away - other.away)
    return near.length > 0 && near[0].away <= REACH ? near[0].name : null
  }

  // ---- the box

  /** The names of an address that are things here. */
  function asked() {
    const names = new URLSearchParams(location.search).get("system")?.split(".") ?? []
    return data.things.map(thing => thing.id).filter(id => names.includes(id))
  }

  function build() {
    const start = asked()
    const inside = new Set(start.length > 0 ? start : data.featured[0]?.members ?? [])
    const svg = fold.querySelector("svg")
    const said = status()
    const note = element("p")
    const within = element("p", [], { className: "fw-within-line" })
    const result = element("div")
    const copy = element("button", words.copy, { type: "button", className: "fw-copy" })
    const boxes = new Map(data.things.map(thing => {
      const box = element("input", [], { type: "checkbox", value: thing.id, checked: inside.has(thing.id) })
      box.addEventListener("change", () => set(thing, box.checked))
      return [thing.id, box]
    }))

    function show() {
      const there = data.things.filter(thing => inside.has(thing.id))
      const query = `?system=${there.map(thing => thing.id).join(".")}#${STEP}`
      const names = listed(there.map(thing => thing.noun))
      within.replaceChildren(`${words.within} `, element("strong", names))
      result.replaceChildren(...(there.length > 0 ? told(inside) : []))
      Object.assign(copy.dataset, { send: query, title: filled(words.sent, { names }) })
      copy.disabled = there.length === 0
      if (svg) outline(svg, inside)
      return query
    }

    function set(thing, wanted) {
      if (wanted) inside.add(thing.id)
      else inside.delete(thing.id)
      boxes.get(thing.id).checked = wanted
      const query = show()
      const { working, idle } = account(inside)
      const counts = { forces: working.length + idle.length, working: working.length }
      const change = filled(wanted ? words.in : words.out, { name: upper(thing.noun) })
      said.textContent = `${change} ${inside.size > 0 ? filled(words.count, counts) : words.empty}`
      note.textContent = inside.size === 0 ? "" : wanted ? thing.in : thing.out
      try {
        history.replaceState(history.state, "", query)
      } catch {
        // A browser may refuse it for a page read from a folder; the button gives the address.
      }
    }

    const labels = [...boxes].map(([id, box]) => {
      const { noun } = data.things.find(thing => thing.id === id)
      return element("label", [box, " ", noun])
    })
    const choice = element("fieldset", [element("legend", words.choose), ...labels], { className: "fw-things" })
    const figure = svg?.closest("figure")
    const others = [...fold.childNodes].filter(node => node !== figure)
    const table = element("details", [element("summary", words.more)], { className: "fw-fold" })
    table.append(...others)
    fold.append(
      element("p", svg ? words.tap : words.tick), choice, element("p", said, { className: "fw-changed" }), note,
      ...(figure ? [figure] : []), within, result, element("p", copy),
    )
    if (others.some(node => node.textContent.trim())) fold.append(table)
    if (svg) {
      if (boxes.has("Earth")) addEarth(svg)
      svg.classList.add("fw-tapped")
      svg.addEventListener("click", event => {
        const name = tapped(svg, event)
        const thing = data.things.find(each => each.id === name)
        if (thing) set(thing, !inside.has(thing.id))
      })
    }
    show()
    if (start.length > 0) fold.closest("details").open = true
  }

  if (data && fold) build()
}
