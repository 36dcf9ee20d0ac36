id => {  // near the top, and nothing that stays there covers it
  const part = document.getElementById(id)
  const box = (part.matches("h3") ? part.closest("section") : part).getBoundingClientRect()
  const text = part.getBoundingClientRect().top + parseFloat(getComputedStyle(part).paddingTop)
  const stay = [...document.querySelectorAll(".md-header, .fw-card > header > p:first-child")]
    .map(bar => bar.getBoundingClientRect()).filter(bar => bar.top < 60 && bar.bottom > 0)
  return text >= Math.max(...stay.map(bar => bar.bottom)) && 0 < box.top && box.top < 200
}
