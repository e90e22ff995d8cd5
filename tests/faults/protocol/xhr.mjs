/** As much of XMLHttpRequest as the tus client uses, over a realm's network. */

export function requestClassOf(realm) {
  return class {
    upload = {};
    status = 0;
    responseText = "";
    #headers = {};
    #isOver = false;
    #answered = new Headers();

    open(method, path) {
      Object.assign(this, { method, path });
    }

    setRequestHeader(name, value) {
      this.#headers[name] = String(value);
    }

    getResponseHeader(name) {
      return this.#answered.get(name);
    }

    async send(body) {
      const bytes = body ? Buffer.from(await body.arrayBuffer()) : Buffer.alloc(0);
      const { method, path } = this;
      try {
        const answer = await realm.ask({ method, path, headers: this.#headers, body: bytes });
        if (this.#isOver) return;
        this.status = answer.status;
        this.responseText = answer.body.toString();
        this.#answered = new Headers(answer.headers);
        this.onload?.({});
      } catch {
        if (!this.#isOver) this.onerror?.({});
      }
    }

    abort() {
      this.#isOver = true;
    }
  };
}
