/* Fields for a reader's own numbers, and equation by equation whether they fit together within their rounding.
   What was typed stays on the device. */

const { value, symbols, element, status, button, filled, data, remembered, keep, field } = fallwork
const NOISE = 1e-9

/** Whether two sides are equal where each number may be half a place off, all of them at once; null without values. */
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

fallwork.fits = fits

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
  }, { className: "fw-own-button" })
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
