() => {
  const fold = document.getElementById("other-systems-choices")
  const boxes = [...fold.querySelectorAll("fieldset input")]
  const number = part => part.querySelector("data") && Number(part.querySelector("data").value)
  const list = title => {
    const head = [...fold.querySelectorAll("h4")].find(each => each.textContent === title)
    const entries = [...head.nextElementSibling.querySelectorAll("li")]
    return entries.map(each => [each.textContent, number(each)])
  }
  return Array.from({length: 2 ** boxes.length - 1}, (_, at) => {
    boxes.forEach((box, bit) => { if (box.checked !== Boolean((at + 1) >> bit & 1)) box.click() })
    return {
      members: boxes.filter(box => box.checked).map(box => box.value),
      working: list("External forces that do work"),
      idle: list("External forces that do no work"),
      energies: list("Energies"),
      sums: [...fold.querySelectorAll(".fw-sums data")].map(each => Number(each.value)),
    }
  })
}
