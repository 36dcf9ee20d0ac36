words => {
  const placed = (lab, pages, address) => ({ address })
  globalThis.fwSeek = { told: { course: { words } }, placed }
}
