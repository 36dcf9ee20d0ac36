/* What is folded away opens when its address is followed; one button opens and closes all of it, for reading on and
   for paper: what is shut isn't printed, although the theme opens everything for the printer. */

const folds = [...document.querySelectorAll("article details.fw-fold")]

function reveal() {
  const there = document.getElementById(decodeURIComponent(location.hash.slice(1)))
  let fold = there?.closest("details:not([open])")
  if (!fold) return
  for (; fold; fold = fold.parentElement.closest("details")) fold.open = true
  there.scrollIntoView()
}

const inside = folds.filter(fold => fold.closest(".fw-card"))
const place = document.querySelector(".fw-all-folds")
if (place) {
  const shut = () => inside.some(fold => !fold.open)
  const say = () => { all.textContent = shut() ? "Open all folds" : "Close all folds" }
  const all = fallwork.button("", () => {
    const open = shut()
    for (const fold of inside) fold.open = open
  }, { className: "fw-open-all" })
  for (const fold of inside) fold.addEventListener("toggle", say)
  say()
  place.append(all)
}

const paper = matchMedia("print")
const note = fold => { if (!paper.matches) fold.classList.toggle("fw-shut", !fold.open) }
for (const fold of folds) {
  note(fold)
  fold.addEventListener("toggle", () => note(fold))
}

addEventListener("hashchange", reveal)
reveal()
