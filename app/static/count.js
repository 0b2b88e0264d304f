"use strict";
// Without this file plus and minus work as well; with it the number changes at once.
for (const button of document.querySelectorAll("button[name=step]")) {
  button.addEventListener("click", (event) => {
    const field = button.form.elements.units;
    const now = Number(field.value);
    if (Number.isInteger(now)) {
      event.preventDefault();
      field.value = String(Math.max(0, now + (button.value === "more" ? 1 : -1)));
      button.form.querySelector(".heard").textContent = field.value;
    }
  });
}
