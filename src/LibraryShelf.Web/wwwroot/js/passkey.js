// Passkeys (WebAuthn, https://www.w3.org/TR/webauthn-3/): a form marked data-passkey="add" or "use" asks the server for a
// challenge, lets the browser answer it, and is then sent like any form with the answer in its hidden field.
import { wordsOf } from "./words.js";

async function challenge(form) {
  const answer = await fetch(form.dataset.challenge, {
    method: "POST",
    // Who is not signed in yet has no token: the browser says where the question came from.
    headers: { RequestVerificationToken: form.querySelector("[name=__RequestVerificationToken]")?.value ?? "" },
  });
  if (!answer.ok) throw new Error(`answered ${answer.status}`);
  return answer.json();
}

async function answerTo(form) {
  const options = await challenge(form);
  return form.dataset.passkey === "add"
    ? navigator.credentials.create({ publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(options) })
    : navigator.credentials.get({ publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(options) });
}

function keyFor(fault) {
  if (fault.name === "InvalidStateError") return "known";
  if (fault.name === "NotAllowedError" || fault.name === "AbortError") return "cancelled";
  if (fault.name === "SecurityError" || fault.name === "NotSupportedError") return "unsupported";
  return "failed";
}

function tell(form, key) {
  const place = form.querySelector("[data-said]");
  place.textContent = wordsOf(form)(key);
  place.hidden = false;
}

for (const words of document.querySelectorAll("[data-passkey-without-script]")) words.hidden = true;

for (const form of document.querySelectorAll("form[data-passkey]")) {
  form.hidden = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!window.PublicKeyCredential?.parseCreationOptionsFromJSON) {
      tell(form, "unsupported");
      return;
    }
    try {
      form.elements.credential.value = JSON.stringify(await answerTo(form));
    } catch (fault) {
      tell(form, keyFor(fault));
      return;
    }
    form.submit();
  });
}
