// What is typed into a panel stays in it: with the focus on a list or a button JupyterLab takes plain keys for its own,
// so that typing "r" into a list would make the cell a raw one and throw its output away.

function keepInPanel(event) {
  if (event.ctrlKey || event.altKey || event.metaKey || ["Tab", "Escape"].includes(event.key)) return;
  if (event.shiftKey && event.key === "Enter") return; // runs the cell, as everywhere
  if (event.target.closest?.(".moldkit-panel")) event.stopPropagation();
}
