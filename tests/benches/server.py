"""A server over a pipe, as an editor has one, for `typing` and `growth`."""

import json
import os
import queue
import subprocess
import threading
import time


class Server:
    """A server and the last findings that it sent for one file."""

    def __init__(self, command, root, path, text, language):
        self.uri, self.version = path.as_uri(), 1
        self.child = subprocess.Popen(command, cwd=root, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        self.said = queue.Queue()
        threading.Thread(target=self.listen, daemon=True).start()
        self.send("initialize", {"processId": os.getpid(), "rootUri": root.as_uri(), "capabilities": {
            "textDocument": {"publishDiagnostics": {"versionSupport": True}}},
            "workspaceFolders": [{"uri": root.as_uri(), "name": "club"}]}, 1)
        while self.said.get(timeout=60).get("id") != 1:
            pass
        self.send("initialized", {})
        self.send("textDocument/didOpen", {"textDocument": {"uri": self.uri, "languageId": language, "version": 1, "text": text}})
        self.findings()

    def send(self, method, params, number=None):
        message = {"jsonrpc": "2.0", "method": method, "params": params} | ({"id": number} if number else {})
        body = json.dumps(message).encode()
        self.child.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
        self.child.stdin.flush()

    def listen(self):
        while line := self.child.stdout.readline():
            length = int(line.split(b":")[1])
            while self.child.stdout.readline().strip():
                pass
            self.said.put(json.loads(self.child.stdout.read(length)))

    def findings(self):
        """Waits for the findings of the version sent last, and says how many there are."""
        while True:
            said = self.said.get(timeout=60)
            if said.get("method") and "id" in said:
                # Whatever it asks of an editor, there is none.
                body = json.dumps({"jsonrpc": "2.0", "id": said["id"], "result": None}).encode()
                self.child.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
                self.child.stdin.flush()
            params = said.get("params") or {}
            if said.get("method") == "textDocument/publishDiagnostics" and params["uri"] == self.uri:
                if params.get("version", self.version) == self.version:
                    return len(params["diagnostics"])

    def type(self, line, column, letter):
        """Seconds from a letter to the findings."""
        self.version += 1
        at = {"line": line, "character": column}
        began = time.perf_counter()
        self.send("textDocument/didChange", {"textDocument": {"uri": self.uri, "version": self.version},
                                             "contentChanges": [{"range": {"start": at, "end": at}, "text": letter}]})
        self.findings()
        return time.perf_counter() - began

    def tell_made(self, paths):
        """Seconds from the first of as many messages, each of one file that was made, to an answer to what is asked after the last."""
        began = time.perf_counter()
        for path in paths:
            self.send("workspace/didChangeWatchedFiles", {"changes": [{"uri": path.as_uri(), "type": 1}]})
        self.send("workspace/symbol", {"query": "none of that name"}, 2)
        while True:
            said = self.said.get(timeout=120)
            if said.get("id") == 2 and "method" not in said:
                return time.perf_counter() - began
