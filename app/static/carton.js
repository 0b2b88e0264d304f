"use strict";
// Without this file the form works as well. A hand scanner types, and ends with Enter: that fills
// in the line. Enter anywhere else saves. Ctrl+] is how some scanners type the group separator.
const code = document.querySelector("[data-carton]");
if (code && code.form.requestSubmit) {
  const form = code.form;
  form.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && event.target.tagName === "INPUT") {
      event.preventDefault();
      form.requestSubmit(form.querySelector(event.target === code ? "[value=read]" : ".big"));
    }
  });
  code.addEventListener("keydown", (event) => {
    if (event.ctrlKey && event.key === "]") {
      event.preventDefault();
      code.setRangeText("\u001d", code.selectionStart, code.selectionEnd, "end");
    }
  });
}
