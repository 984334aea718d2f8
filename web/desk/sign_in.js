// Pairing a device, signing in, and stopping without it: a paired device can always stop what is typed.

import { glanceOf } from "./glance.js";
import { reasonOf } from "./reasons.js";
import { SIGN_IN } from "./sign_in_words.js";
import { words as german } from "./words_de.js";
import { words as english } from "./words_en.js";

const $ = (id) => document.getElementById(id);
const LOOK_EVERY_MS = 5000;
const TAG = navigator.language.split("-")[0] === "de" ? "de" : "en";
const WORDS = TAG === "de" ? german : english;
const HERE = SIGN_IN[TAG];
let token = document.querySelector('meta[name="token"]').content;

async function post(address, message) {
  try {
    const came = await fetch(address, {
      method: "POST",
      headers: { "X-Exhibit-Token": token, "Content-Type": "application/json" },
      body: JSON.stringify(message),
    });
    const answer = await came.json();
    if (typeof answer.token === "string") token = answer.token;
    return answer;
  } catch {
    return { accepted: false, why: HERE.notSent };
  }
}

function say(text) {
  $("said").textContent = text;
}

const inBrowsersLanguage = (words) => words[navigator.language.split("-")[0]] ?? Object.values(words)[0] ?? "";

function show({ machine, mains_stop: mainsStop, practice, paired, signed_in: signedIn, docents = [], day }) {
  const practises = mayPractise({ practice, paired, docents });
  $("machine").textContent = inBrowsersLanguage(machine);
  $("mains-stop").textContent = `${inBrowsersLanguage(mainsStop)}${paired ? "" : ` ${HERE.notFromHere}`}`;
  $("practice").hidden = !practice;
  $("pair").hidden = paired;
  $("docents").hidden = !paired || Boolean(signedIn) || practises;
  $("engineers").hidden = !paired || Boolean(signedIn) || practises;
  $("engineers").open = docents.length === 0;
  $("go-on").hidden = !practises || Boolean(signedIn);
  $("practise").onclick = () => enter("/today/sign-in", { initials: docents[0] });
  $("stopping").hidden = !paired;
  showGlance(paired && !signedIn, day);
  $("signed-in").hidden = $("sign-out").hidden = !signedIn;
  $("signed-in").textContent = signedIn ? HERE.signedIn(signedIn.name) : "";
  $("no-docents").hidden = docents.length > 0;
  $("initials").replaceChildren(...docents.map(initialsButton));
}

// How the day stands, where nobody is signed in to see more of it.
function showGlance(isWanted, day) {
  const { says, needs } = isWanted ? glanceOf(day, WORDS, TAG) : { says: [], needs: "" };
  $("glance").hidden = !says.length;
  setText("stands", says.join(" "));
  $("waits").hidden = !needs;
  setText("waits", needs);
}

function setText(id, text) {
  if ($(id).textContent !== text) $(id).textContent = text; // what is the same isn't read aloud again
}

// For practice a browser that has come by its address is signed in without being asked who it is.
const mayPractise = ({ practice, paired, docents }) => practice && paired && docents.length === 1;

function initialsButton(initials) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = initials;
  button.addEventListener("click", () => enter("/today/sign-in", { initials }));
  return button;
}

async function enter(address, message) {
  sessionStorage.removeItem("signed out");
  const answer = await post(address, message);
  if (answer.accepted) location.reload();
  else say(reasonOf(answer.why, WORDS));
}

async function stop(request, done) {
  const answer = await post("/today/request", { request });
  say(answer.accepted ? done : reasonOf(answer.why, WORDS));
}

document.documentElement.lang = TAG;
for (const place of document.querySelectorAll("[data-say]")) place.textContent = HERE[place.dataset.say];
say(HERE.opening);
setText("glance-head", WORDS.glance.head);
setText("stop", WORDS.stop.label);
setText("stop-does", WORDS.glance.stop);
setText("hands-off", WORDS.stop.handsOffLabel);
setText("hands-off-does", WORDS.glance.handsOff);
setText("nobody-needed", WORDS.glance.nobodyNeeded);
$("pair").addEventListener("submit", (event) => {
  event.preventDefault();
  enter("/today/pair", { code: $("code").value.replace(/\D/g, "") });
});
$("engineer").addEventListener("submit", (event) => {
  event.preventDefault();
  enter("/today/sign-in", { name: $("name").value, password: $("password").value });
  $("password").value = "";
});
$("sign-out").addEventListener("click", async () => {
  const answer = await post("/today/sign-out", {});
  if (!answer.accepted) return say(reasonOf(answer.why, WORDS));
  sessionStorage.setItem("signed out", "yes"); // signing out is practised too
  location.reload();
});
$("stop").addEventListener("click", () => stop("stop", HERE.stopped));
$("hands-off").addEventListener("click", () => stop("hands off", HERE.handsOff));

// For practice the address that opens this page brings the code; what follows # isn't sent with it.
async function enterByAddress({ practice, paired, signed_in: signedIn, docents = [] }) {
  const code = /^#code=(\d{8})$/.exec(location.hash)?.[1];
  if (!practice || signedIn) return;
  if (!paired && code) await enter("/today/pair", { code });
  else if (mayPractise({ practice, paired, docents }) && !sessionStorage.getItem("signed out")) {
    history.replaceState(null, "", location.pathname);
    await enter("/today/sign-in", { initials: docents[0] });
  }
}

// A practice's new address, opened in a tab where this page stands already: what follows # alone loads nothing.
addEventListener("hashchange", () => location.reload());

// What is stuck to the bottom never lies over what somebody has gone to.
new ResizeObserver(([{ target }]) => {
  document.documentElement.style.setProperty("--foot", `${target.offsetHeight}px`);
}).observe(document.querySelector("footer"));
$("engineers").addEventListener("toggle", ({ target }) => {
  if (target.open) target.scrollIntoView({ block: "nearest" });
});

setInterval(async () => {
  try {
    const { paired, day, signed_in: signedIn } = await (await fetch("/today/who")).json();
    showGlance(paired && !signedIn, day);
  } catch {
    showGlance(false); // it may no longer be so; what is pressed says that nothing answers
  }
}, LOOK_EVERY_MS);

try {
  const who = await (await fetch("/today/who")).json();
  show(who);
  say("");
  await enterByAddress(who);
} catch {
  say(HERE.notSent);
}
