/* A reader's own numbers: how they are read and kept, and what the formulas of a lab (lesson/reworking.py) give with
   other givens and, for staff, with an earlier value of a student. */

const { value, read, shifted, half, valueOf, element, button, filled, data } = fallwork
const NOISE = 1e-12
let made = 0  // fields, so that each has an id

const each = (parts, change) => Object.fromEntries(Object.entries(parts).map(([id, part]) => [id, change(part)]))
const powersOf = unit => data.words.powers[unit] ?? { [unit]: 0 }
/** Of the units into what formulas take. */
const scaleOf = unit => ({ "°": Math.PI / 180, "%": 0.01 })[unit] ?? 1

/** What was typed in the unit of its quantity, or null where it can't be read: its decimal, value and half of its
    last place, these in SI units. */
function entered(typed, unit) {
  const found = read(typed)
  const power = found && powersOf(unit)[(found.unit || unit).replace(/[ *]/, "·").replace("µ", "μ")]
  if (power === undefined || power === null) return null
  const decimal = shifted(found.decimal, Number(power))
  return { ...found, decimal, value: valueOf(decimal) * scaleOf(unit), half: half(decimal) * scaleOf(unit) }
}

const inSI = values => each(values, ([number, unit]) => number * scaleOf(unit))

/** What is worked out, in SI units: `results` one by one as printed, `values` by ids, of each quantity what its first
    equation gives. With `earlier` values: what follows from them; what has no value then is as `before`. */
function workedOut(working, givens, earlier = {}, before = null) {
  const values = { ...before?.values, ...givens, ...earlier }
  const settled = new Set([...Object.keys(givens), ...Object.keys(earlier)])
  const results = working.results.map(([id, tree], at) => {
    const found = id in earlier ? NaN : value(tree, values)
    const given = givens[id]  // small differences lose digits
    if (Math.abs(found - given) < 1e-6 * Math.abs(given)) return given
    if (before && Number.isNaN(found)) return before.results[at]
    if (id && !settled.has(id)) {
      settled.add(id)
      values[id] = found
    }
    return found
  })
  for (const [id, tree] of working.others) values[id] = value(tree, values)
  return { values, results }
}

/** Why other givens would make another kind of motion: ["given", id], ["result", id], ["condition"], or null. */
function otherwise(working, before, after) {
  const sign = number => Math.sign(Math.abs(number) < NOISE ? 0 : number)
  const differ = (one, other) => Number.isNaN(other) || sign(one) !== sign(other)
  const given = Object.keys(working.values).find(id => differ(before.values[id], after.values[id]))
  if (given) return ["given", given]
  const ends = working.conditions.some(tree => differ(value(tree, before.values), value(tree, after.values)))
  const at = working.results.findIndex((_, at) => differ(before.results[at], after.results[at]))
  if (!ends && at < 0) return null
  return !ends && working.results[at][0] ? ["result", working.results[at][0]] : ["condition"]
}

/** What comes of givens and, if there is one, an earlier value of a student, both as they were typed, by ids: as
    worked out from the givens alone (`before`) and at last (`now`). Where the motion would be of another kind than the
    `lab`'s: why. */
function putIn(working, typed, earlier = {}) {
  const labs = inSI(working.values), lab = workedOut(working, labs)
  const [givens, brought] = [{ ...labs, ...each(typed, one => one.value) }, each(earlier, one => one.value)]
  const before = workedOut(working, givens), why = otherwise(working, lab, before)
  if (why) return { lab, why, now: lab, typed: {} }
  const now = workedOut(working, givens, brought, before)
  return { lab, givens, before, brought, now, typed: { ...typed, ...earlier } }
}

/** A field with a place for what is wrong with it; `read`: what was typed, null where it can't be read. */
function field(id, name, typed = "") {
  const wrong = element("span", [], { id: `${id}-wrong`, className: "fw-wrong" })
  const input = element("input", [], { type: "text", autocomplete: "off", spellcheck: false, id, value: typed,
    className: "fw-own-field", "aria-label": name, "aria-describedby": wrong.id })
  function readIn(unit) {
    const found = input.value.trim() ? entered(input.value, unit) : undefined
    const units = Object.keys(powersOf(unit)).filter(Boolean).join(", ") || "–"
    wrong.textContent = found === null ? filled(data.words.unread, { units }) : ""
    input.setAttribute("aria-invalid", String(found === null))
    return found
  }
  return { input, wrong, read: readIn }
}

/** What was typed on this device, by ids; a browser may refuse to keep it. */
function remembered(name) {
  try { return JSON.parse(localStorage.getItem(`fallwork ${name}`) ?? "{}") } catch { return {} }
}
function keep(name, fields) {
  const typed = Object.fromEntries(fields.filter(({ input }) => input.value).map(({ id, input }) => [id, input.value]))
  try { localStorage.setItem(`fallwork ${name}`, JSON.stringify(typed)) } catch { /* on the page alone */ }
}

/** Fields for other givens and, where `working` asks for it, for an earlier value; what stands in them is what `read`
    puts in. `act`: when something is typed. */
function form(working, legend, act, before = {}) {
  const words = data.words.working
  const name = Object.fromEntries(working.symbols.map(([id, , , meaning]) => [id, meaning]))
  const unitOf = Object.fromEntries(working.symbols)
  const fields = working.givens.filter(id => id in name).map(id => {
    const label = `${name[id]}${unitOf[id] && ` (${unitOf[id]})`}`
    return { id, label, ...field(`own-given-${made++}`, label, before[id]) }
  })
  const found = new Set(working.results.map(([id]) => id).filter(id => id && !(id in working.values)))
  const options = [new Option(words.none, ""), ...[...found].map(id => new Option(name[id], id))]
  const which = element("select", options, { className: "fw-own-field", onchange: act, "aria-label": words.which })
  const earlier = field(`own-earlier-${made++}`, words.found)
  const inputs = [...fields, earlier].map(one => one.input)
  for (const input of inputs) input.addEventListener("input", act)
  const group = (title, ...parts) => element("fieldset", [element("legend", title), ...parts])
  const labelled = fields.flatMap(({ label, input, wrong }) => [element("label", [label, input]), wrong])
  const parts = [group(legend, ...labelled)]
  if (working.earlier) parts.push(group(words.earlier, which, earlier.input, earlier.wrong))

  function read() {
    const typed = fields.map(({ id, read }) => [id, read(unitOf[id])]).filter(([, found]) => found)
    const brought = which.value && earlier.read(unitOf[which.value])
    const state = putIn(working, Object.fromEntries(typed), brought ? { [which.value]: brought } : {})
    if (!state.why) return state
    const because = filled(words[`why-${state.why[0]}`], { quantity: name[state.why[1]] ?? "" })
    return { ...state, told: filled(words["other-kind"], { why: because }) }
  }

  /** Other numbers into the fields; without any, none. */
  function fill(typed = {}) {
    for (const { id, input } of fields) input.value = typed[id] ?? ""
    which.value = earlier.input.value = ""
    act()
  }
  return { parts, fields, read, fill, empty: () => !inputs.some(input => input.value) }
}

Object.assign(fallwork, /** @satisfies {Own} */(
  { entered, scaleOf, inSI, workedOut, putIn, remembered, keep, field, form }))
