id => {
  const place = id ? document.getElementById(id).getBoundingClientRect().top : scrollY
  return place >= 0 && place < innerHeight
}
