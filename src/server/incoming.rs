//! What the client says, message by message.
//!
//! A thread of its own reads the client and lets only well-formed messages through, so that a broken header or a body
//! that is no JSON costs itself alone. What doesn't fit goes through as a message of our own, [`UNREADABLE`], which
//! the gate answers.

use std::io::{self, BufRead, BufReader, Read};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};

use serde_json::{Value, json};
use tokio::io::{AsyncRead, ReadBuf};
use tokio::sync::mpsc;
use tower_lsp::jsonrpc::{Request, Response};

use super::ending::Ending;

/// The method under which something unreadable reaches the gate, its parameters the error to answer.
pub(super) const UNREADABLE: &str = "$/leadsman/unreadable";

/// The longest body that is read, in bytes; the largest file an archive reads is a quarter of it.
const MAX_BODY: usize = 64 * 1024 * 1024;
/// The longest line of a header, in bytes; what is longer is no header.
const MAX_LINE: usize = 4 * 1024;
/// Messages read ahead of what the server has taken.
const AHEAD: usize = 16;

const LENGTH: &[u8] = b"content-length:";

/// JSON-RPC: what was received is no JSON.
const PARSE_ERROR: i64 = -32700;
/// JSON-RPC: what was received is no message.
const INVALID_REQUEST: i64 = -32600;

/// Well-formed messages, as the bytes that a transport reads.
#[derive(Debug)]
pub(super) struct Incoming {
    messages: mpsc::Receiver<Vec<u8>>,
    current: Vec<u8>,
    taken: usize,
}

impl Incoming {
    /// Begins to read a client. `ending` is told when there is no more to read.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub(super) fn listen(reader: impl Read + Send + 'static, ending: Arc<Ending>) -> io::Result<Incoming> {
        let (sender, messages) = mpsc::channel(AHEAD);
        std::thread::Builder::new().name("reader".to_owned()).spawn(move || {
            let mut frames = Frames::new(BufReader::new(reader));
            while let Some(frame) = frames.next() {
                let body = match frame.and_then(|body| check(&body).map(|()| body)) {
                    Ok(body) => body,
                    Err(Unreadable::Ignored) => continue,
                    Err(Unreadable::Answered { code, id, why }) => {
                        let params = json!({ "code": code, "id": id, "message": why });
                        json!({ "jsonrpc": "2.0", "method": UNREADABLE, "params": params }).to_string().into_bytes()
                    }
                };
                let mut message = format!("Content-Length: {}\r\n\r\n", body.len()).into_bytes();
                message.extend(body);
                if sender.blocking_send(message).is_err() {
                    break;
                }
            }
            ending.closed();
        })?;
        Ok(Incoming { messages, current: Vec::new(), taken: 0 })
    }
}

impl AsyncRead for Incoming {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buffer: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        if self.taken == self.current.len() {
            match self.messages.poll_recv(cx) {
                Poll::Pending => return Poll::Pending,
                Poll::Ready(None) => return Poll::Ready(Ok(())),
                Poll::Ready(Some(message)) => (self.current, self.taken) = (message, 0),
            }
        }
        let rest = self.current.get(self.taken..).unwrap_or_default();
        let part = rest.get(..buffer.remaining()).unwrap_or(rest);
        buffer.put_slice(part);
        let taken = part.len();
        self.taken += taken;
        Poll::Ready(Ok(()))
    }
}

/// Something that is no message.
#[derive(Debug, PartialEq)]
enum Unreadable {
    /// It wants an answer.
    Answered { code: i64, id: Value, why: String },
    /// It is an answer itself, and errors are not answered with errors.
    Ignored,
}

fn unreadable(code: i64, why: impl Into<String>) -> Unreadable {
    Unreadable::Answered { code, id: Value::Null, why: why.into() }
}

/// Whether a body is a message of the protocol.
fn check(body: &[u8]) -> Result<(), Unreadable> {
    let value: Value = serde_json::from_slice(body).map_err(|error| unreadable(PARSE_ERROR, error.to_string()))?;
    let Value::Object(members) = &value else {
        return Err(unreadable(INVALID_REQUEST, "a message is an object"));
    };
    let has = |name: &str| members.contains_key(name);
    let is_answer = !has("method") && (has("result") || has("error"));
    let id = members.get("id").filter(|id| id.is_string() || id.is_i64()).cloned().unwrap_or_default();
    if is_answer {
        return serde_json::from_value::<Response>(value).map(drop).map_err(|_| Unreadable::Ignored);
    }
    if !members.get("method").is_some_and(Value::is_string) {
        return Err(Unreadable::Answered { code: INVALID_REQUEST, id, why: "a message has a method".to_owned() });
    }
    serde_json::from_value::<Request>(value).map(drop).map_err(|error| Unreadable::Answered {
        code: INVALID_REQUEST,
        id,
        why: error.to_string(),
    })
}

/// Cuts a stream into the bodies of messages. Whatever stands where a header should is passed over up to the next
/// header, and said once.
struct Frames<R> {
    reader: R,
    line: Vec<u8>,
    /// A good body behind something broken, which is said first.
    held: Option<Vec<u8>>,
}

impl<R: BufRead> Frames<R> {
    fn new(reader: R) -> Frames<R> {
        Frames { reader, line: Vec::new(), held: None }
    }

    /// The next body; `None` where the client says no more.
    fn next(&mut self) -> Option<Result<Vec<u8>, Unreadable>> {
        if let Some(body) = self.held.take() {
            return Some(Ok(body));
        }
        let mut length: Option<usize> = None;
        let mut broken = false;
        loop {
            let whole = match self.read_line() {
                Ok(Line::Whole) => true,
                Ok(Line::Part) => false,
                Err(_) | Ok(Line::End) => {
                    broken |= length.is_some() || !self.line.is_empty();
                    self.line.clear();
                    return broken.then(|| Err(unreadable(PARSE_ERROR, "the header breaks off")));
                }
            };
            let line = self.line.trim_ascii();
            let blank = whole && line.is_empty();
            match find_length(line) {
                Some((at, said)) => {
                    broken |= at > 0 || said.is_none();
                    length = said;
                }
                None => broken |= !(blank || whole && is_header(line)),
            }
            if whole {
                self.line.clear();
            } else {
                // A header may begin in the last bytes of what is passed over.
                let passed = self.line.len().saturating_sub(2 * LENGTH.len());
                self.line.drain(..passed);
            }
            match length {
                _ if !blank => {}
                Some(length) if length <= MAX_BODY => match self.body(length) {
                    None => return Some(Err(unreadable(PARSE_ERROR, "the message breaks off"))),
                    Some(body) if broken => {
                        self.held = Some(body);
                        return Some(Err(unreadable(PARSE_ERROR, "this stands where a header should")));
                    }
                    Some(body) => return Some(Ok(body)),
                },
                Some(_) => return Some(Err(unreadable(PARSE_ERROR, "the message is too long to be one"))),
                None if broken => {
                    return Some(Err(unreadable(PARSE_ERROR, "a header without a length that can be read")));
                }
                // Blank lines between messages, or a header of nothing but a content type.
                None => {}
            }
        }
    }

    fn body(&mut self, length: usize) -> Option<Vec<u8>> {
        let mut body = Vec::new();
        // Grows as the bytes arrive: a length alone takes no memory.
        self.reader.by_ref().take(length as u64).read_to_end(&mut body).ok()?;
        (body.len() == length).then_some(body)
    }

    fn read_line(&mut self) -> io::Result<Line> {
        let before = self.line.len();
        let room = MAX_LINE.saturating_sub(before) as u64;
        self.reader.by_ref().take(room).read_until(b'\n', &mut self.line)?;
        Ok(match self.line.last() {
            Some(b'\n') => Line::Whole,
            _ if self.line.len() == MAX_LINE => Line::Part,
            _ => Line::End,
        })
    }
}

enum Line {
    /// A line with its end.
    Whole,
    /// The first part of a line too long for a header.
    Part,
    /// The end of what there is to read.
    End,
}

/// Where a line says a length, and the length if it can be read.
fn find_length(line: &[u8]) -> Option<(usize, Option<usize>)> {
    let at = line.windows(LENGTH.len()).rposition(|window| window.eq_ignore_ascii_case(LENGTH))?;
    let digits = line.get(at + LENGTH.len()..)?.trim_ascii();
    let number = std::str::from_utf8(digits).ok().and_then(|digits| digits.parse().ok());
    Some((at, number))
}

fn is_header(line: &[u8]) -> bool {
    let name = line.split(|byte| *byte == b':').next().unwrap_or_default();
    name.len() < line.len() && !name.is_empty() && name.iter().all(|byte| byte.is_ascii_alphanumeric() || *byte == b'-')
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    fn framed(body: &str) -> String {
        format!("Content-Length: {}\r\n\r\n{body}", body.len())
    }

    /// All bodies, an error as `!`.
    fn read(text: &[u8]) -> Vec<String> {
        let mut frames = Frames::new(text);
        let mut all = Vec::new();
        while let Some(frame) = frames.next() {
            all.push(frame.map_or("!".to_owned(), |body| String::from_utf8(body).unwrap()));
        }
        all
    }

    #[test]
    fn bodies_are_cut_by_their_length() {
        let text = format!("{}{}", framed("{\"a\":1}"), framed("é"));
        assert_eq!(read(text.as_bytes()), ["{\"a\":1}", "é"]);
    }

    #[test]
    fn headers_are_read_as_clients_write_them() {
        assert_eq!(read(b"content-length:2\n\nab"), ["ab"]);
        assert_eq!(
            read(b"Content-Type: application/vscode-jsonrpc; charset=utf-8\r\nContent-Length: 2\r\n\r\nab"),
            ["ab"]
        );
        assert_eq!(read(b"\r\n\r\nContent-Length: 2\r\n\r\nab\r\n"), ["ab"]);
    }

    #[test]
    fn a_broken_header_costs_itself_alone() {
        let good = framed("ok");
        for broken in
            ["nonsense\r\n\r\n", "Content-Length: many\r\n\r\n", "Content-Length: -4\r\n\r\n", "nonsense\r\n", "{}"]
        {
            assert_eq!(read(format!("{good}{broken}{good}").as_bytes()), ["ok", "!", "ok"], "{broken:?}");
        }
        let long = "x".repeat(3 * MAX_LINE + 7);
        assert_eq!(read(format!("{long}{good}").as_bytes()), ["!", "ok"]);
    }

    #[test]
    fn a_length_that_cannot_be_meant_takes_no_memory_and_swallows_nothing() {
        let text = format!("Content-Length: 99999999999\r\n\r\n{}", framed("ok"));
        assert_eq!(read(text.as_bytes()), ["!", "ok"]);
        assert_eq!(read(b"Content-Length: 60000000\r\n\r\nshort"), ["!"]);
    }

    #[test]
    fn only_messages_of_the_protocol_go_through() {
        let code = |body: &str| match check(body.as_bytes()) {
            Ok(()) => 0,
            Err(Unreadable::Answered { code, .. }) => code,
            Err(Unreadable::Ignored) => 1,
        };
        assert_eq!(code(r#"{"jsonrpc":"2.0","method":"exit"}"#), 0);
        assert_eq!(code(r#"{"jsonrpc":"2.0","id":"a","method":"shutdown","params":null}"#), 0);
        assert_eq!(code(r#"{"jsonrpc":"2.0","id":1,"result":null}"#), 0);
        assert_eq!(code(r#"{"jsonrpc":"#), PARSE_ERROR);
        assert_eq!(code(""), PARSE_ERROR);
        assert_eq!(code(&"[".repeat(10_000)), PARSE_ERROR);
        assert_eq!(code(r#"[{"jsonrpc":"2.0","method":"exit"}]"#), INVALID_REQUEST);
        assert_eq!(code(r#"{"id":1,"method":"shutdown"}"#), INVALID_REQUEST);
        assert_eq!(code(r#"{"jsonrpc":"2.0","id":1,"method":5}"#), INVALID_REQUEST);
        assert_eq!(code(r#"{"jsonrpc":"2.0","id":{},"result":1}"#), 1);
    }

    proptest! {
        #![proptest_config(crate::seed::properties(256))]

        #[test]
        fn any_bytes_end(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
            let mut frames = Frames::new(&*bytes);
            let mut count = 0;
            while frames.next().is_some() {
                count += 1;
                prop_assert!(count <= bytes.len() + 1);
            }
        }
    }
}
