/* On prelab and report: fields for a reader's own numbers, and equation by equation whether they fit together within
   their rounding. What was typed stays on the device. Without this script two tables are there to be filled in. */
{
  const { value, symbols, read, shifted, half, valueOf, element, status, filled, data } = window.fallwork
  const NOISE = 1e-9

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

  /** Whether two sides are equal within what the last places of the numbers leave open: each number may be half a
      place off either way, all of them at once. Null where numbers are missing or there is no value.
      @param {any} left @param {any} right @param {Record<string, {value: number, half: number}>} numbers */
  function fits(left, right, numbers) {
    const ids = symbols(["+", left, right])
    if (!ids.every(id => numbers[id])) return null
    const middle = Object.fromEntries(ids.map(id => [id, numbers[id].value]))
    const off = values => value(left, values) - value(right, values)
    const here = off(middle)
    const ends = [{ ...middle }, { ...middle }]
    const sums = [0, 0]
    for (const id of ids) {
      const moved = [-1, 1].map(sign => middle[id] + sign * numbers[id].half)
      const changes = moved.map(each => [off({ ...middle, [id]: each }) - here, each]).sort((a, b) => a[0] - b[0])
      changes.forEach(([change, end], at) => {
        sums[at] += change
        ends[at][id] = end
      })
    }
    // What the changes make together beyond their sum, on both sides.
    const [low, high] = sums.map((sum, at) => sum + (at ? 1 : -1) * Math.abs(off(ends[at]) - here - sum))
    const noise = NOISE * (Math.abs(value(left, middle)) + Math.abs(value(right, middle)))
    return Number.isNaN(here + low + high) ? null : low - noise <= -here && -here <= high + noise
  }

  /* ---- what stands on a page */

  const button = (said, act) => element("button", said, { type: "button", className: "fw-own-button", onclick: act })

  /** A field with a place for what is wrong with it; `read`: what was typed, null where it can't be read. */
  function field(id, name, typed = "") {
    const wrong = element("span", [], { id: `${id}-wrong`, className: "fw-wrong" })
    const about = { type: "text", autocomplete: "off", spellcheck: false, id, className: "fw-own-field", value: typed }
    const input = element("input", [], about)
    input.setAttribute("aria-label", name)
    input.setAttribute("aria-describedby", wrong.id)
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

  Object.assign(window.fallwork, { entered, scaleOf, fits, remembered, keep, field, button })

  function offer({ quantities, relations }, box) {
    const words = data.words.relations
    const [numbersRows, linesRows] = [...box.querySelectorAll("table")].map(table => [...table.tBodies[0].rows])
    const last = row => row.lastElementChild
    const typed = remembered(data.lab)
    const counted = status()
    const first = element("a", words.first, { hidden: true })
    const fields = numbersRows.map((row, at) => {
      const [id, unit] = quantities[at]
      const made = field(`own-${at}`, filled(words.yours, { quantity: row.cells[0].textContent.trim() }), typed[id])
      last(row).replaceChildren(made.input, made.wrong)
      return { id, unit, ...made }
    })

    function judge() {
      keep(data.lab, fields)
      const numbers = Object.fromEntries(fields.map(each => [each.id, each.read(each.unit)]))
      const counts = { holds: 0, told: 0 }
      for (const [at, row] of linesRows.entries()) {
        const fit = fits(...relations[at], numbers)
        const verdict = fit === null ? "untold" : fit ? "holds" : "fails"
        if (fit === false && counts.holds === counts.told) first.href = `#${row.id}`
        counts.holds += Number(fit === true)
        counts.told += Number(fit !== null)
        row.className = `fw-${verdict}`
        last(row).textContent = words[verdict] ?? ""
      }
      first.hidden = counts.holds === counts.told
      linesRows[0].closest("table").classList.toggle("fw-counting", counts.told > 0)
      const more = linesRows.length - counts.told
      const told = counts.told ? filled(words.count, counts) + (more ? ` ${filled(words.more, { more })}` : "") : ""
      if (counted.textContent !== told) counted.textContent = told
    }

    const clear = button(words.clear, () => {
      for (const { input } of fields) input.value = ""
      judge()
      fields[0].input.focus()
    })
    for (const { input } of fields) input.addEventListener("input", judge)
    linesRows.forEach((row, at) => { row.id = `own-line-${at}` })
    const figure = numbersRows[0].closest("figure")
    figure.before(element("p", words.type), element("p", [counted, " ", first], { className: "fw-own-said" }))
    figure.after(clear)
    if (Object.keys(typed)[0]) box.closest("details").open = true
    judge()
  }

  const box = document.getElementById("own-numbers-check")
  if (data.relations && box) offer(data.relations, box)
}
