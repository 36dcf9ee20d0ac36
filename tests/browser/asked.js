([working, sets]) => {
  const { entered, putIn, printOf } = fallwork
  return sets.map(([set, earlier]) => {
    const units = Object.fromEntries(working.symbols)
    const read = (words, unit) => Object.fromEntries(
      Object.entries(words).map(([id, typed]) => [id, entered(typed, unit(id))]))
    const { now, typed, why } = putIn(
      working, read(set, id => working.values[id][1]), read(earlier, id => units[id]))
    if (why) return null
    const print = mark => {
      const { mantissa, exponent } = printOf(working, now, mark, typed)
      return exponent === undefined ? mantissa : `${mantissa}e${exponent}`
    }
    return {
      symbols: Object.fromEntries(working.symbols.map(([id], at) => [id, print(at)])),
      results: working.results.flatMap((_, at) => [print(4096 + 2 * at), print(4097 + 2 * at)]),
    }
  })
}
