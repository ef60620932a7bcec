"use strict";
document.querySelectorAll("table.sortable th button").forEach(function (button) {
  button.addEventListener("click", function () {
    var head = button.parentElement, place = head.cellIndex, table = head.closest("table");
    var before = head.getAttribute("aria-sort");
    var down = before ? before === "ascending" : button.dataset.highFirst === "1";
    table.querySelectorAll("th").forEach(function (other) { other.removeAttribute("aria-sort"); });
    head.setAttribute("aria-sort", down ? "descending" : "ascending");
    Array.prototype.forEach.call(table.tBodies, function (body) {
      Array.prototype.slice.call(body.rows).sort(function (one, two) {
        var a = one.cells[place].dataset.number, b = two.cells[place].dataset.number;
        if (a === "" || b === "") { return (a === "") - (b === ""); }
        return down ? b - a : a - b;
      }).forEach(function (row) { body.appendChild(row); });
    });
  });
});
