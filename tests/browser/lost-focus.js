// The element that has the focus and isn't in view, by the start of its HTML; nothing if it is.
() => {
  const { left, right, top, bottom } = document.activeElement.getBoundingClientRect()
  const inside = left >= -1 && right <= innerWidth + 1 && top >= 0 && bottom <= innerHeight
  return inside ? "" : document.activeElement.outerHTML.slice(0, 200)
}
