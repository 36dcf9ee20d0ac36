/* For staff: what a number that somebody got may be in a lab, by the formulas that come with what is searched
   (pages/finding.py), for a bench's own numbers too (own.js). */

const { told, placed } = fwSeek
const { read: decimalOf, value, valueOf, half: halfOf, scaleOf, inSI, workedOut, filled } = fallwork
const KINDS = ["right", "earlier", "mistake", "follows"]
const SAME = 1e-9  // relative; what differs by less hasn't changed
const NUMBER = /(?<![\p{L}\d.,])[-+−]?[\d.,]*\d[.,]?(?:e[-+−]?\d+| ?[x×·*] ?10\^?[-+−\d⁻⁰¹²³⁴-⁹]+)?/iu

/* The first number typed: its value and half of its last place in the unit of its kind, and the words beside it. */
function numberIn(typed, { units }) {
  const [all] = NUMBER.exec(typed) ?? []
  const number = all && decimalOf(all)
  if (!number) return null
  const at = typed.indexOf(all), after = typed.slice(at + all.length).trimStart()
  const follows = unit => after.startsWith(unit) && !/^[\p{L}\d/]/u.test(after.slice(unit.length))
  const name = Object.keys(units).filter(follows).sort((one, other) => other.length - one.length)[0] ?? ""
  const [factor, of] = units[name] ?? [1, ""]
  const rest = `${typed.slice(0, at)} ${after.slice(name.length)}`.replace(/(?<!\ba ?)[=\u2248~:]/g, " ")
  const [value, half] = [valueOf({ ...number.decimal, minus: false }), halfOf(number.decimal)].map(each => each * factor)
  return { value, half, of, fine: number.decimal.exponent < 0 || !!name, written: all, rest }
}

const words = () => told.course.words.bench
function said(lab, { id, number, of = "", figures = lab.digits }) {
  const [meaning, letter, unit] = lab.of[id]
  const digits = Math.abs(number) < 10 ** figures ? number.toPrecision(figures) : Math.round(number)
  return `${of ? filled(words()["of-variant"], { quantity: meaning, name: of }) : meaning}, ${letter} = ${digits} ${unit}`.trim()
}

/* What comes up in a lab; with `own` numbers (own.js) without what trials and variants have. */
function comingUp(lab, own) {
  const parts = [lab.working, own ? null : lab.measured].filter(Boolean)
  const all = name => parts.flatMap(part => part[name] ?? [])
  const working = { results: all("results"), others: all("others") }
  const givens = own?.givens ?? Object.assign({}, ...parts.map(part => inSI(part.values)))
  const right = workedOut(working, givens), scale = id => scaleOf(lab.of[id][2])
  const equations = working.results.flatMap(([id, , , step, page, tolerance, figures], at) =>
    step === undefined ? [] : { id, at, step, pages: [page], part: "", told: "", tolerance, figures })
  const results = equations.filter(({ id }, at) => equations.findIndex(each => each.id === id) === at)
    .map(each => ({ ...each, kind: "right", number: right.results[each.at] / scale(each.id) }))
  const variants = Object.entries(own ? {} : lab.variants).flatMap(([name, numbers]) => results
    .filter(({ id }) => id in numbers.right).map(each => ({ ...each, number: numbers.right[each.id], of: name })))
  const wrong = all("wrong").map(([id, tree, step, slip, told, pages]) =>
    ({ kind: "mistake", id, step, pages, part: `-${slip}`, told, number: value(tree, right.values) / scale(id) }))

  const found = [...results, ...variants, ...wrong]
  /* What changes with a value, from its step on. */
  function follow({ id, number, step: first = 0, told: done = "" }, more) {
    const after = workedOut(working, givens, { [id]: number * scale(id) })
    const told = filled(words().from, { value: said(lab, { id, number }), done })
    for (const each of equations) {
      const [now, before] = [after, right].map(({ results }) => results[each.at])
      const differs = Math.abs(now - before) > SAME * Math.max(Math.abs(now), Math.abs(before))
      if (each.step >= first && differs) found.push({ ...each, number: now / scale(each.id), told, ...more })
    }
  }
  for (const [id, number] of Object.entries(own?.brought ?? {})) {
    follow({ id, number: number / scale(id) }, { kind: "earlier" })
  }
  for (const each of wrong) {
    const { step, pages, part } = each
    follow(each, { kind: "follows", step, pages, part })
  }
  return found
}

/* What a number may be, in the order of the kinds. */
function numbers({ value: typed, half, of, rest }, lab, read, own = null) {
  const asked = read(rest).filter(word => word[0] !== "~")
  const named = Object.fromEntries(Object.entries(lab.of).map(([id, [meaning, letter]]) => {
    const known = read(`${meaning} ${letter}`)
    return [id, asked.filter(word => known.includes(word)).length]
  }))
  const most = Math.max(0, ...Object.values(named))
  const off = each => Math.abs(Math.abs(each.number) - typed)
  const meant = comingUp(lab, own).filter(({ id }) => (!of || lab.of[id][2] === of) && named[id] === most)
  const likelier = ["right", "mistake"], same = (one, other) =>
    one.id === other.id && Math.abs(one.number - other.number) <= SAME * Math.abs(one.number)
  const exact = meant.filter(each => off(each) <= half * (1 + 1e-9)).filter((each, at, all) =>
    likelier.includes(each.kind) || all.findIndex(other => same(each, other)) === at)
  const rough = meant.filter(each => each.kind === "right" && off(each) <= Math.abs(each.number) * each.tolerance &&
    half < Math.abs(each.number) * 0.05)
  const likely = exact.some(each => likelier.includes(each.kind))
  return [...likely ? [] : rough, ...exact]
    .sort((one, other) => KINDS.indexOf(one.kind) - KINDS.indexOf(other.kind) || off(one) - off(other))
    .map(each => ({ kind: each.kind, title: said(lab, each), told: each.told,
      ...placed(lab, each.pages, `#${lab.steps[each.step]}${each.part}`) }))
}

window.fwNumbers = { numberIn, numbers }
