// Runs before the first paint, so that a chosen theme never flashes in as the other one.
try {
  const chosen = localStorage.getItem('everyroom.theme');
  if (chosen === 'light' || chosen === 'dark') document.documentElement.dataset.theme = chosen;
} catch {
  // Storage may be forbidden; the system's preference then decides.
}
