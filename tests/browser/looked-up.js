([lab, cases, units]) => cases.map(([set, earlier, number]) => {
  const { entered, putIn } = fallwork
  const { values, symbols } = lab.working
  const unit = Object.fromEntries(symbols)
  const read = (words, of) =>
    Object.fromEntries(Object.entries(words).map(([id, typed]) => [id, entered(typed, of(id))]))
  const typed = read(set ?? {}, id => values[id][1])
  const own = set && putIn(lab.working, typed, read(earlier, id => unit[id]))
  if (own?.why) return null
  const hits = fwNumbers.numbers(fwNumbers.numberIn(number, { units }), lab, () => [], own)
  return hits.map(({ kind, title, address }) => [kind, title.replace(/, \S+ = .*$/, ""), address])
})
