/* On the solution: the printed working once more with a reader's own givens and, for staff, with an earlier value of a
   student. Digits change in place and are marked; where the motion would be of another kind, nothing changes. The
   formulas are those of the page (lesson/reworking.py). */
{
  const { value, read, summed, rounded, guarded, asTyped, scaleOf, remembered, keep, element, status, field, button, filled, data } = window.fallwork
  const RESULTS = 4096 // marks from here on are of results: exact and rounded by turns
  const NOISE = 1e-12

  /** Values of everything that is worked out, in SI units: `results` one by one as printed, `values` by ids. As on
      the page a quantity is carried on with what the first equation gives for it. With `earlier` values of a student:
      what follows from them; what has no value then stays as it was `before`. */
  function workedOut(working, givens, earlier = {}, before = null) {
    const values = { ...before?.values, ...givens, ...earlier }
    const settled = new Set([...Object.keys(givens), ...Object.keys(earlier)])
    const results = working.results.map(([id, tree], at) => {
      const found = id in earlier ? NaN : value(tree, values)
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

  /** A sum of givens, or one of them, with all their digits, as on the page; null of what is neither. */
  function ofGivens(working, tree, typed) {
    const [sign, ...ids] = Array.isArray(tree) ? tree : ["", tree]
    if (!["", "+", "-"].includes(sign) || !ids.every(id => working.values[id]?.[2])) return null
    const decimal = summed(ids.map(id => (typed[id] ?? read(working.values[id][2])).decimal))
    return decimal && asTyped({ decimal: { ...decimal, minus: decimal.minus !== (sign === "-") } })
  }

  /** What stands at a mark: a print. `typed`: givens as they were typed. */
  function printOf(working, { values, results }, mark, typed) {
    if (mark < RESULTS) {
      const [id, unit, figures] = working.symbols[mark]
      if (typed[id]) return asTyped(typed[id])
      const formulas = [...working.results, ...working.others].filter(([of]) => of === id)
      const sum = formulas.map(([, tree]) => ofGivens(working, tree, typed)).find(Boolean)
      if (sum) return sum
      if (!Number.isFinite(values[id])) return { mantissa: "–" } // no formula on the page gives it
      return guarded(values[id] / scaleOf(unit), figures ?? working.digits)
    }
    const at = (mark - RESULTS) >> 1
    const [id, tree, unit] = working.results[at]
    const rounds = (mark - RESULTS) % 2
    const sum = id && !rounds && tree[0] === "+" && ofGivens(working, tree, typed)
    if (sum) return sum
    const figures = working.symbols.find(each => each[0] === id)?.[2] ?? working.digits
    return (rounds ? rounded : guarded)(results[at] / scaleOf(unit), figures)
  }

  /** MathML of a print. */
  function mathml({ mantissa, exponent }) {
    const number = text => {
      const digits = text.replace("-", "")
      return text === digits ? `<mn>${digits}</mn>` : `<mo form="prefix" lspace="0" rspace="0">−</mo><mn>${digits}</mn>`
    }
    if (exponent === undefined) return number(mantissa)
    return `${number(mantissa)}<mo>×</mo><msup><mn>10</mn><mrow>${number(String(exponent))}</mrow></msup>`
  }

  Object.assign(window.fallwork, { workedOut, otherwise, printOf })

  function offer(working, box) {
    const words = data.words.working
    const article = box.closest("article")
    const name = Object.fromEntries(working.symbols.map(([id, , , meaning]) => [id, meaning]))
    const unitOf = Object.fromEntries(working.symbols)
    const labs = Object.fromEntries(
      Object.entries(working.values).map(([id, [number, unit]]) => [id, number * scaleOf(unit)]))
    const lab = workedOut(working, labs)
    const places = [...article.querySelectorAll("[data-fw]")].map(place => {
      const guard = place.parentElement.classList.contains("fw-guard") ? place.parentElement : place
      return { place, guard, mark: Number(place.dataset.fw), html: place.innerHTML, side: place.closest("math") }
    })
    const cards = [...article.querySelectorAll(".fw-card:has([data-fw])")].map(card => {
      const badge = element("p", words.mark, { className: "fw-yours-note", hidden: true })
      card.querySelector("header").after(badge)
      return { card, badge }
    })

    const memory = `${data.lab} working`
    const before = remembered(memory)
    const fields = working.givens.filter(id => id in name).map((id, at) => {
      const label = `${name[id]}${unitOf[id] && ` (${unitOf[id]})`}`
      return { id, label, ...field(`own-given-${at}`, label, before[id]) }
    })
    const said = status()
    const back = button(words.back, () => {
      for (const { input } of fields) input.value = ""
      if (earlier) earlier.which.value = earlier.input.value = ""
      work()
      fields[0]?.input.focus()
    })
    const group = (legend, ...parts) => element("fieldset", [element("legend", legend), ...parts])
    const labelled = fields.flatMap(({ label, input, wrong }) => [element("label", [label, input]), wrong])
    const earlier = working.earlier ? earlierValue() : null
    const fold = element("details", element("summary", words.offer), { className: "fw-fold", open: Object.keys(before).length > 0 })
    fold.append(element("div", [
      element("p", words["put-in"]), element("p", said, { className: "fw-own-said" }), group(words.own, ...labelled),
      ...(earlier ? [group(words.earlier, earlier.which, earlier.input, earlier.wrong)] : []), back,
    ]))
    box.append(fold)

    /** A choice of quantity, and a field for what a student found. */
    function earlierValue() {
      const which = element("select", new Option(words.none, ""), { className: "fw-own-field", onchange: work })
      which.setAttribute("aria-label", words.which)
      const found = working.results.map(([id]) => id).filter(id => id && !(id in working.values))
      for (const id of new Set(found)) which.add(new Option(name[id], id))
      return { which, ...field("own-earlier", words.found) }
    }

    function work() {
      const typed = {}
      for (const each of fields) {
        const found = each.read(unitOf[each.id])
        if (found) typed[each.id] = found
      }
      keep(memory, fields)
      const givens = { ...labs, ...Object.fromEntries(Object.entries(typed).map(([id, each]) => [id, each.value])) }
      let now = workedOut(working, givens)
      const why = otherwise(working, lab, now)
      if (why) {
        const because = filled(words[`why-${why[0]}`], { quantity: name[why[1]] ?? "" })
        return show(lab, {}, filled(words["other-kind"], { why: because }))
      }
      const id = earlier?.which.value
      const found = id ? earlier.read(unitOf[id]) : undefined
      if (found) {
        now = workedOut(working, givens, { [id]: found.value }, now)
        typed[id] = found
      }
      show(now, typed, Object.keys(typed).length ? words.changed : "")
    }

    const numberAt = ({ values, results }, mark) =>
      mark < RESULTS ? values[working.symbols[mark][0]] : results[(mark - RESULTS) >> 1]

    function show(state, typed, told) {
      const mine = Object.keys(typed).length > 0
      for (const { place, guard, mark, html, side } of places) {
        const symbol = mark < RESULTS ? working.symbols[mark][0] : null
        const given = symbol !== null && symbol in working.values
        const number = numberAt(state, mark) // what has no formula changes with any
        const same = number !== undefined && Object.is(number, numberAt(lab, mark))
        const changed = mine && (given ? symbol in typed : !same)
        const print = changed ? printOf(working, state, mark, typed) : null
        place.innerHTML = changed ? mathml(print) : html
        place.classList.toggle("fw-yours", changed)
        guard.classList.toggle("fw-guard", changed ? Boolean(print.marked) : guard !== place)
        if (side.textContent.startsWith("≈")) { // what is exact isn't rounded once more
          const exact = changed && mark > RESULTS && !printOf(working, state, mark - 1, typed).marked
          side.style.display = exact ? "none" : ""
        }
      }
      for (const { card, badge } of cards) badge.hidden = !card.querySelector(".fw-yours")
      if (said.textContent !== told) said.textContent = told
      back.disabled = !mine && !fields.some(({ input }) => input.value)
    }

    for (const { input } of [...fields, ...(earlier ? [earlier] : [])]) input.addEventListener("input", work)
    work()
  }

  const box = document.getElementById("own-givens")
  if (data.working && box) offer(data.working, box)
}
