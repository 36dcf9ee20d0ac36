// Whether something stands before the upper edge of the field that has the focus.
() => {
  const { x, y, width } = document.activeElement.getBoundingClientRect()
  return document.elementFromPoint(x + width / 2, y + 3) !== document.activeElement
}
