// Passkeys (WebAuthn, https://www.w3.org/TR/webauthn-3/): a form marked data-passkey="add" or "use" asks the server for a
// challenge, lets the browser answer it, and is then sent like any form with the answer in its hidden field.
const WORDS = {
  unsupported: "This browser can’t use passkeys here: they need a recent browser, and the shelf’s own name over https. The password works as ever.",
  cancelled: "The passkey was not used: it was cancelled, took too long, or this device has none for this shelf. Nothing was changed. Try again, or use the password.",
  known: "This device has a passkey for this shelf already. Nothing was changed.",
  failed: "The shelf could not be asked for a passkey. Nothing was changed. Load the page again, or use the password.",
};

async function challenge(form) {
  const answer = await fetch(form.dataset.challenge, {
    method: "POST",
    headers: { RequestVerificationToken: form.querySelector("[name=__RequestVerificationToken]").value },
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

function wordsFor(fault) {
  if (fault.name === "InvalidStateError") return WORDS.known;
  if (fault.name === "NotAllowedError" || fault.name === "AbortError") return WORDS.cancelled;
  if (fault.name === "SecurityError" || fault.name === "NotSupportedError") return WORDS.unsupported;
  return WORDS.failed;
}

function say(form, words) {
  const place = form.querySelector("[data-said]");
  place.textContent = words;
  place.hidden = false;
}

for (const words of document.querySelectorAll("[data-passkey-without-script]")) words.hidden = true;

for (const form of document.querySelectorAll("form[data-passkey]")) {
  form.hidden = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!window.PublicKeyCredential?.parseCreationOptionsFromJSON) {
      say(form, WORDS.unsupported);
      return;
    }
    try {
      form.elements.credential.value = JSON.stringify(await answerTo(form));
    } catch (fault) {
      say(form, wordsFor(fault));
      return;
    }
    form.submit();
  });
}
