"use strict";
(function () {
  var now = new Date(), pad = function (n) { return (n < 10 ? "0" : "") + n; };
  var today = document.getElementById("d" + now.getFullYear() + "-" + pad(now.getMonth() + 1) + "-" + pad(now.getDate()));
  var days = document.querySelectorAll("details.day");
  days.forEach(function (day) { day.open = day === today || (!today && day === days[0]); });
  if (today) { today.classList.add("today"); }
  document.querySelectorAll('a[href="#today"]').forEach(function (link) { link.href = "#" + (today || days[0]).id; });
  if (today && !location.hash) { today.scrollIntoView(); }
  var key = "homecare " + document.documentElement.getAttribute("data-sheet"), ticks = {};
  try { ticks = JSON.parse(localStorage.getItem(key)) || {}; } catch (fault) { ticks = {}; }
  document.querySelectorAll(".due input").forEach(function (box, place) {
    box.checked = ticks[place] === 1;
    box.addEventListener("change", function () {
      if (box.checked) { ticks[place] = 1; } else { delete ticks[place]; }
      try { localStorage.setItem(key, JSON.stringify(ticks)); } catch (fault) { /* kept for as long as the page is open */ }
    });
  });
})();
