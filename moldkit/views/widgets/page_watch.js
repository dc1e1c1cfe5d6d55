// Tells the kernel when somebody comes back to the page from another window, where a file may have been changed.

function render({ model, el }) {
  const back = () => {
    if (document.visibilityState === "visible") model.send({ kind: "return" });
  };
  el.style.display = "none";
  window.addEventListener("focus", back);
  document.addEventListener("visibilitychange", back);
  return () => {
    window.removeEventListener("focus", back);
    document.removeEventListener("visibilitychange", back);
  };
}

export default { render };
