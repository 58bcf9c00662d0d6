//! A plain client: JSON-RPC over a pipe, no library of the protocol between.

use std::collections::VecDeque;
use std::io::{BufRead, BufReader, PipeReader, PipeWriter, Read, Write, pipe};
use std::path::Path;
use std::process::{Child, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

use leadsman::server::{Around, run};
use serde_json::{Value, json};

/// How long a condition may take to come true on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);

/// What serves: the built binary, or the library in this process.
enum Served {
    Process(Child),
    Thread(Receiver<bool>),
}

pub struct Client {
    writer: Option<Box<dyn Write + Send>>,
    /// What the server writes, until somebody reads it.
    unread: Option<Box<dyn Read + Send>>,
    messages: Option<Receiver<Value>>,
    /// Messages read and not yet waited for.
    seen: VecDeque<Value>,
    served: Served,
    last_id: i64,
    /// Requests of the server's, by method, each answered `null`.
    pub asked: Vec<Value>,
}

impl Client {
    /// A client of the built binary that reads what it is told.
    pub fn of_binary() -> Client {
        let mut client = Client::deaf();
        client.listen();
        client
    }

    /// A client of the built binary that reads nothing until it listens.
    pub fn deaf() -> Client {
        let mut command = crate::cli::leadsman(".");
        let command = command.arg("lsp").stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().expect("the binary runs");
        let (stdin, stdout) = (child.stdin.take().expect("piped"), child.stdout.take().expect("piped"));
        Client::new(stdin, stdout, Served::Process(child))
    }

    /// A client of a server in this process.
    pub fn within(around: Around) -> Client {
        let (theirs, ours): (PipeReader, PipeWriter) = pipe().expect("a pipe");
        let (our_reader, their_writer) = pipe().expect("a pipe");
        let (ended, end) = channel();
        std::thread::spawn(move || {
            let _ = ended.send(run(theirs, their_writer, around).expect("threads"));
        });
        let mut client = Client::new(ours, our_reader, Served::Thread(end));
        client.listen();
        client
    }

    fn new(writer: impl Write + Send + 'static, reader: impl Read + Send + 'static, served: Served) -> Client {
        Client {
            writer: Some(Box::new(writer)),
            unread: Some(Box::new(reader)),
            messages: None,
            seen: VecDeque::new(),
            served,
            last_id: 0,
            asked: Vec::new(),
        }
    }

    /// Begins to read.
    pub fn listen(&mut self) {
        let (sender, messages) = channel();
        let reader = self.unread.take().expect("listens once");
        std::thread::spawn(move || read(reader, &sender));
        self.messages = Some(messages);
    }

    pub fn raw(&mut self, bytes: &[u8]) {
        let writer = self.writer.as_mut().expect("still open");
        writer.write_all(bytes).expect("the server reads");
        writer.flush().expect("the server reads");
    }

    pub fn send(&mut self, message: &Value) {
        self.raw(&framed(message));
    }

    pub fn notify(&mut self, method: &str, params: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    /// Sends a request; its id.
    pub fn ask(&mut self, method: &str, params: Value) -> i64 {
        self.last_id += 1;
        self.send(&json!({ "jsonrpc": "2.0", "id": self.last_id, "method": method, "params": params }));
        self.last_id
    }

    /// Sends a request and waits for its answer.
    pub fn answer(&mut self, method: &str, params: Value) -> Value {
        let id = self.ask(method, params);
        self.reply(id)
    }

    /// Waits for the answer to a request.
    pub fn reply(&mut self, id: i64) -> Value {
        self.wait(&format!("the answer to request {id}"), |message| {
            message["id"] == id && message.get("method").is_none()
        })
    }

    /// Waits for a message; others are kept.
    pub fn wait(&mut self, what: &str, is_it: impl Fn(&Value) -> bool) -> Value {
        let end = Instant::now() + PATIENCE;
        if let Some(at) = self.seen.iter().position(&is_it) {
            return self.seen.remove(at).expect("there");
        }
        loop {
            let left = end.saturating_duration_since(Instant::now());
            let message = match self.messages.as_ref().expect("listens").recv_timeout(left) {
                Ok(message) => message,
                Err(RecvTimeoutError::Timeout) => panic!("waited in vain for {what}; seen: {:?}", self.seen),
                Err(RecvTimeoutError::Disconnected) => panic!("the server ended before {what}; seen: {:?}", self.seen),
            };
            if message.get("method").is_some() && message.get("id").is_some() {
                self.send(&json!({ "jsonrpc": "2.0", "id": message["id"], "result": null }));
                self.asked.push(message.clone());
            }
            if is_it(&message) {
                return message;
            }
            self.seen.push_back(message);
        }
    }

    /// Waits for the findings of a version of a document.
    pub fn findings(&mut self, uri: &str, version: i64) -> Vec<Value> {
        self.findings_when(uri, |message| message["version"] == version)
    }

    /// Waits for findings of a document that fit.
    pub fn findings_when(&mut self, uri: &str, fit: impl Fn(&Value) -> bool) -> Vec<Value> {
        let message = self.wait(&format!("the findings of {uri}"), |message| {
            message["method"] == "textDocument/publishDiagnostics"
                && message["params"]["uri"] == uri
                && fit(&message["params"])
        });
        message["params"]["diagnostics"].as_array().expect("a list").clone()
    }

    /// Everything told so far that wasn't waited for.
    pub fn told(&mut self) -> &VecDeque<Value> {
        while let Ok(message) = self.messages.as_ref().expect("listens").try_recv() {
            self.seen.push_back(message);
        }
        &self.seen
    }

    /// Greets the server.
    pub fn greet(&mut self, capabilities: Value) -> Value {
        let greeting = json!({ "processId": null, "rootUri": null, "capabilities": capabilities });
        let answer = self.answer("initialize", greeting);
        self.notify("initialized", json!({}));
        answer["result"]["capabilities"].clone()
    }

    pub fn open(&mut self, uri: &str, version: i64, text: &str) {
        let document = json!({ "uri": uri, "languageId": "kdl", "version": version, "text": text });
        self.notify("textDocument/didOpen", json!({ "textDocument": document }));
    }

    pub fn change(&mut self, uri: &str, version: i64, changes: &Value) {
        let document = json!({ "uri": uri, "version": version });
        self.notify("textDocument/didChange", json!({ "textDocument": document, "contentChanges": changes }));
    }

    pub fn close(&mut self, uri: &str) {
        self.notify("textDocument/didClose", json!({ "textDocument": { "uri": uri } }));
    }

    /// Stops writing.
    pub fn hang_up(&mut self) {
        self.writer = None;
    }

    /// Waits until the server has ended: its exit code, or 0 and 1 for one in this process.
    pub fn end(self) -> i32 {
        // What the server is read from stays open until it has ended.
        let Client { writer: _writer, unread: _unread, messages: _messages, served, .. } = self;
        match served {
            Served::Thread(end) => i32::from(!end.recv_timeout(PATIENCE).expect("the server ends")),
            Served::Process(mut child) => {
                let (sender, ended) = channel();
                let id = child.id();
                std::thread::spawn(move || sender.send(child.wait().expect("a child")));
                let status = ended.recv_timeout(PATIENCE).unwrap_or_else(|_| panic!("the server {id} does not end"));
                status.code().expect("ended by itself")
            }
        }
    }

    /// Takes leave as a client should.
    pub fn leave(mut self) -> i32 {
        let answer = self.answer("shutdown", Value::Null);
        assert_eq!(answer["result"], Value::Null);
        assert!(answer.get("error").is_none(), "{answer}");
        self.notify("exit", Value::Null);
        self.end()
    }
}

fn read(reader: impl Read, sender: &Sender<Value>) {
    let mut reader = BufReader::new(reader);
    loop {
        let mut length = 0;
        loop {
            let mut line = String::new();
            if reader.read_line(&mut line).unwrap_or(0) == 0 {
                return;
            }
            match line.trim().split_once(": ") {
                Some(("Content-Length", said)) => length = said.parse().expect("a length"),
                Some(_) => {}
                None => break,
            }
        }
        let mut body = vec![0; length];
        if reader.read_exact(&mut body).is_err() {
            return;
        }
        if sender.send(serde_json::from_slice(&body).expect("JSON")).is_err() {
            return;
        }
    }
}

pub fn framed(message: &Value) -> Vec<u8> {
    let body = message.to_string();
    format!("Content-Length: {}\r\n\r\n{body}", body.len()).into_bytes()
}

/// The address of a path.
pub fn uri(path: &Path) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-._~".contains(&byte);
    let path = path.to_str().expect("a path in UTF-8").bytes();
    let escaped: String =
        path.map(|byte| if plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") }).collect();
    format!("file://{escaped}")
}
