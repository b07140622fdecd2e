// Printing needs a script; without one the browser's own menu does it.
const button = document.getElementById("print");
if (button) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
