// Draws the cabinet that the server wrote, and tells the server what was pressed.
// On a narrow screen it shows one day, chosen here without asking the server.
export default function ({ parentElement, data, setTriggerValue }) {
  const root = parentElement.querySelector(".cabinet");
  if (root.drawn !== data.html) {
    const held = root.contains(document.activeElement) && document.activeElement.dataset.pick;
    root.innerHTML = root.drawn = data.html;
    if (held) root.querySelector(`[data-pick="${CSS.escape(held)}"]`)?.focus();
  }
  const days = [...root.querySelectorAll(".day")].map((one) => one.dataset.day);
  const show = (day) => {
    root.day = days.includes(day) ? day : days[0];
    for (const one of root.querySelectorAll(".day"))
      one.classList.toggle("on", one.dataset.day === root.day);
    for (const one of root.querySelectorAll(".strip button"))
      one.setAttribute("aria-pressed", String(one.dataset.show === root.day));
  };
  show(root.day ?? data.day);
  root.onclick = (event) => {
    const pressed = event.target.closest("button");
    if (pressed?.dataset.show) show(pressed.dataset.show);
    else if (pressed?.dataset.pick) setTriggerValue("pick", pressed.dataset.pick);
  };
}
