// The camera with the last picture of the same pose over it. Where there is no camera, the file field is enough.

const $ = (id) => document.getElementById(id);
const form = $("take");
const LONGEST = 4096;
let stream;

function ghost() {
  const pose = new FormData(form).get("pose");
  const last = [...document.querySelectorAll("[data-ghost]")].find((e) => e.dataset.ghost === pose);
  const image = $("ghost");
  image.hidden = !last;
  $("ghost-help").hidden = !last;
  document.querySelector(".ghost-by").hidden = !last;
  if (last) image.src = last.dataset.at;
  image.style.opacity = String($("ghost-by").value / 100);
}

function say(text) {
  $("camera-says").textContent = text;
}

async function start() {
  try {
    stream = await navigator.mediaDevices.getUserMedia({
      audio: false,
      video: { facingMode: { ideal: "environment" }, width: { ideal: 4096 }, height: { ideal: 3072 } },
    });
  } catch {
    return say("The camera cannot be used here: it is missing, in use, or not allowed. Choose a picture instead.");
  }
  const view = $("view");
  view.srcObject = stream;
  await view.play();
  $("camera").hidden = false;
  $("camera-on").hidden = true;
  ghost();
  $("shoot").focus();
}

async function shoot() {
  const view = $("view");
  const scale = Math.min(1, LONGEST / Math.max(view.videoWidth, view.videoHeight));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(view.videoWidth * scale);
  canvas.height = Math.round(view.videoHeight * scale);
  canvas.getContext("2d").drawImage(view, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise((yes) => canvas.toBlob(yes, "image/jpeg", 0.92));
  if (!blob) return say("The picture could not be taken. Try again, or choose one.");
  const files = new DataTransfer();
  files.items.add(new File([blob], "picture.jpg", { type: "image/jpeg" }));
  $("file").files = files.files;
  const shot = $("shot");
  if (shot.src) URL.revokeObjectURL(shot.src);
  shot.src = URL.createObjectURL(blob);
  shot.hidden = false;
  say("Taken. Keep it, or take another.");
}

if (form) {
  if (navigator.mediaDevices?.getUserMedia) $("camera-on").hidden = false;
  $("camera-on").addEventListener("click", start);
  $("shoot").addEventListener("click", shoot);
  $("ghost-by").addEventListener("input", ghost);
  form.addEventListener("change", (event) => {
    if (event.target.name === "pose") ghost();
    if (event.target.name === "zone" && event.target.value) {
      const close = form.querySelector('input[name=pose][value="close"]');
      close.checked = true;
      ghost();
    }
  });
  addEventListener("pagehide", () => stream?.getTracks().forEach((t) => t.stop()));
}

for (const two of document.querySelectorAll("[data-two]")) {
  const by = two.parentElement.querySelector(".two-by");
  const range = by.querySelector("input");
  const before = two.querySelector(".before img");
  const move = () => {
    before.style.clipPath = `inset(0 ${100 - range.value}% 0 0)`;
    two.style.setProperty("--edge", `${range.value}%`);
  };
  two.classList.add("laid");
  by.hidden = false;
  range.addEventListener("input", move);
  move();
}
