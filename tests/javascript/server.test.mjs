// Talking to the server: one request of a kind at a time, the latest marks win, and what a refusal means.
import assert from "node:assert/strict";
import { beforeEach, describe, test } from "node:test";
import { marking } from "./sources.mjs";

const { Refused, SignedOut, Soon, ask } = await marking("server");

const settled = () => new Promise((resolve) => setImmediate(resolve));

describe("soon", () => {
  const PAUSE = 350;
  let calls;
  let finish;
  let soon;

  beforeEach(() => {
    calls = 0;
    soon = new Soon(() => {
      calls += 1;
      return new Promise((resolve, reject) => (finish = { resolve, reject }));
    }, PAUSE);
  });
  const paused = (t) => t.mock.timers.enable({ apis: ["setTimeout"] });

  test("many wishes within the pause are one request", (t) => {
    paused(t);
    soon.want();
    soon.want();
    t.mock.timers.tick(PAUSE - 1);
    assert.deepEqual([calls, soon.idle], [0, false]);
    t.mock.timers.tick(1);
    assert.equal(calls, 1);
    t.mock.timers.tick(60_000);
    assert.equal(calls, 1);
  });

  test("what is wanted while an answer is on its way waits for it, then is asked for once", async (t) => {
    paused(t);
    soon.want();
    t.mock.timers.tick(PAUSE);
    soon.want();
    soon.want();
    t.mock.timers.tick(60_000);
    assert.equal(calls, 1);
    finish.resolve();
    await settled();
    t.mock.timers.tick(PAUSE);
    assert.equal(calls, 2);
    finish.resolve();
    await settled();
    t.mock.timers.tick(60_000);
    assert.deepEqual([calls, soon.idle], [2, true]);
  });

  test("a request that fails, or asks to be repeated, is made again after four seconds", async (t) => {
    paused(t);
    soon.want();
    t.mock.timers.tick(PAUSE);
    finish.reject(new Error("no network"));
    await settled();
    assert.equal(soon.idle, false);
    t.mock.timers.tick(3999);
    assert.equal(calls, 1);
    t.mock.timers.tick(1);
    assert.equal(calls, 2);
    finish.resolve(true);
    await settled();
    t.mock.timers.tick(4000);
    assert.equal(calls, 3);
  });
});

describe("asking", () => {
  const answerWith = (t, { status = 200, json, url = "http://here/live/", redirected = false }) => {
    const asked = [];
    t.mock.method(globalThis, "fetch", async (address, options) => {
      asked.push([address, options]);
      return {
        status, url, redirected, ok: status < 400,
        headers: new Headers(json ? { "Content-Type": "application/json" } : { "Content-Type": "text/html" }),
        json: async () => json,
      };
    });
    return asked;
  };
  const page = (cookie) => {
    globalThis.document = { cookie, body: { getAttribute: () => '{"X-CSRFToken": "of-the-page"}' } };
  };
  beforeEach(() => page("theme=dark; csrftoken=of-the-cookie"));

  test("sends JSON with the newest token, and gives back the answer", async (t) => {
    const asked = answerWith(t, { json: { fitting: 1 } });
    assert.deepEqual(await ask("/live/", { marks: 2 }), { fitting: 1 });
    const [[address, { method, headers, body, keepalive }]] = asked;
    assert.deepEqual([address, method, body, keepalive], ["/live/", "POST", '{"marks":2}', false]);
    assert.equal(headers["X-CSRFToken"], "of-the-cookie");
    page("xcsrftoken=no");
    await ask("/live/", {}, { keepalive: true });
    assert.equal(asked[1][1].headers["X-CSRFToken"], "of-the-page");
    assert.equal(asked[1][1].keepalive, true);
  });

  for (const [what, answer] of Object.entries({
    "a redirection": { redirected: true, json: {} },
    "the sign-in page": { url: "http://here/sign-in/?next=/live/" },
    "a refusal that is a page": { status: 403 },
  })) {
    test(`${what} means: signed out`, async (t) => {
      answerWith(t, answer);
      await assert.rejects(ask("/live/", {}), SignedOut);
    });
  }

  test("a refusal with words is passed on with its status and answer", async (t) => {
    answerWith(t, { status: 409, json: { message: "Ravi saved meanwhile.", version: 4 } });
    await assert.rejects(ask("/save/", {}), (fault) => {
      assert.ok(fault instanceof Refused);
      assert.deepEqual([fault.message, fault.status, fault.answer.version], ["Ravi saved meanwhile.", 409, 4]);
      return true;
    });
  });

  test("a refusal in JSON is no signing out, and a fault without words gets some", async (t) => {
    answerWith(t, { status: 403, json: { message: "Only dispensers." } });
    await assert.rejects(ask("/save/", {}), { message: "Only dispensers.", status: 403 });
    t.mock.restoreAll();
    answerWith(t, { status: 500 });
    await assert.rejects(ask("/save/", {}), (fault) => fault instanceof Refused && /Your marks are still here/.test(fault.message));
  });
});
