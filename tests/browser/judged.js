// Verdicts of each relation on each set of numbers, typed in the units of their quantities.
([relations, sets]) => sets.map(typed => {
  const numbers = Object.fromEntries(Object.entries(typed)
    .map(([id, [text, unit]]) => [id, fallwork.entered(text, unit)]))
  return relations.map(([left, right]) => fallwork.fits(left, right, numbers))
})
