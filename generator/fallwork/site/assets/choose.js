/* Choose your system: boxes to tick, and the same things to tap in a drawing; which forces are external and which of
   them do work, the energies and the balance are sums of what comes with the page (lesson/lab/choosing.py). A formula is
   a dollar sign with its number in the page's list, a term [sign, formula]. Each choice has an address. */

const STEP = "other-systems"
const REACH = 22  // px around a tap; so each thing is at least 44 px wide
const { element, status, button, filled, rounded, value, data: all } = fallwork
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

/** An energy or work, rounded; the value itself stands in the element. */
function amount(value) {
  const { mantissa, exponent } = rounded(value, data.figures)
  const tail = exponent ? [" × 10", element("sup", String(exponent).replace("-", minus))] : []
  return element("data", [mantissa.replace("-", minus), ...tail, "\u00a0J"], { value: String(value) })
}

/** The sum of what is known; not a number where something isn't. */
const total = parts => value(["+", 0, ...parts.map(part => part.value ?? NaN)], {})

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
  const summed = () => [`${words.done} `, amount(sums[0]), `, ${words.gained} `, amount(sums[1])]
  const links = (featured?.steps ?? []).flatMap(([id, title], at) => [
    at ? " · " : ": ", element("a", title, { href: `#${id}` }),
  ])
  return [
    ...(featured ? [element("p", [`${words.featured} “`, element("strong", featured.title), "”", ...links])] : []),
    element("h4", words.balance), element("p", balance, { className: "fw-balance" }),
    ...(numbers && !sums.some(Number.isNaN) ? [element("p", summed(), { className: "fw-sums" })] : []),
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
    group.append(...shapes.map(each => made("path",
      { d: each.getAttribute("d"), class: kind, style: each.style.fill ? "" : "fill: none" })))
  }
  svg.querySelector("path[data-object]").before(group)
}

/** The thing nearest to a tap, sought on wider and wider circles. */
function tapped({ clientX, clientY }) {
  for (let away = 0; away <= REACH; away += 1) {
    for (let turn = 0; turn < 2 * Math.PI; turn += 1 / Math.max(away, 1)) {
      const [x, y] = [clientX + away * Math.cos(turn), clientY + away * Math.sin(turn)]
      const part = document.elementFromPoint(x, y)?.closest("[data-object]")
      if (part && svg.contains(part)) return part.dataset.object
    }
  }
  return null
}

// ---- the box

function build() {
  const names = new URLSearchParams(location.search).get("system")?.split(".") ?? []
  const start = data.things.map(thing => thing.id).filter(id => names.includes(id))
  const inside = new Set(start.length > 0 ? start : data.featured[0]?.members ?? [])
  const said = status()
  const note = element("p")
  const result = element("div")
  const copy = button(words.copy, null, { className: "fw-copy" })
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
      // refused by some browsers in a folder; the button gives the address
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
    const name = tapped(event), thing = data.things.find(each => each.id === name)
    if (thing) set(thing, !inside.has(thing.id))
  })
  show()
  if (start.length > 0) fold.closest("details").open = true
}

if (data && svg) build()
