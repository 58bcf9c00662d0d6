//! The gate: the one service that wraps the protocol's.
//!
//! Each message is polled once on the reader's turn, so that an edit is done before the next message is read; a panic
//! becomes that request's error; and what the transport takes too narrowly is put right.

use std::any::Any;
use std::future::Future;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::task::{Context, Poll, Waker};

use serde_json::{Value, json};
use tower::Service;
use tower_lsp::jsonrpc::{Error, ErrorCode, Id, Request, Response};

use super::ending::Ending;
use super::incoming::UNREADABLE;

/// Messages that may be under way at once.
pub(super) const SLOTS: usize = 1024;
/// Requests that may be under way at once; the other slots are kept for edits and cancellations.
const REQUESTS: usize = SLOTS - 64;
/// The protocol's code for a request that was right but is not met.
const REQUEST_FAILED: i64 = -32803;

type Reply<E> = Result<Option<Response>, E>;

/// The service that wraps another.
#[derive(Debug)]
pub(super) struct Gate<S> {
    inner: S,
    ending: Arc<Ending>,
    under_way: Arc<AtomicUsize>,
}

impl<S> Gate<S> {
    /// A gate before a service.
    pub(super) fn new(inner: S, ending: Arc<Ending>) -> Gate<S> {
        Gate { inner, ending, under_way: Arc::default() }
    }
}

impl<S> Service<Request> for Gate<S>
where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    type Response = Option<Response>;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Reply<S::Error>> + Send>>;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.inner.poll_ready(cx)
    }

    fn call(&mut self, request: Request) -> Self::Future {
        let id = request.id().cloned();
        let answer = |response| -> Self::Future { Box::pin(std::future::ready(Ok(response))) };
        let refuse = |error| answer(id.clone().map(|id| Response::from_error(id, error)));
        let method = request.method().to_owned();
        let request = match &*method {
            UNREADABLE => return answer(Some(unreadable(request.params()))),
            // Of these the protocol takes no parameters, whatever clients send.
            "shutdown" | "exit" => without_params(request),
            "initialized" if request.params().is_none_or(Value::is_null) => {
                Request::build(method.clone()).params(json!({})).finish()
            }
            // An optional request that isn't known is answered like any other; the transport would keep silent.
            _ if method.starts_with("$/") && id.is_some() => return refuse(Error::method_not_found()),
            _ => request,
        };
        if method == "exit" {
            self.ending.exit();
        }
        let waits = id.is_some();
        if waits && self.under_way.load(Ordering::SeqCst) >= REQUESTS {
            let code = ErrorCode::from(REQUEST_FAILED);
            return refuse(Error { code, message: "too many requests at once".into(), data: None });
        }
        let inner = match catch_unwind(AssertUnwindSafe(|| self.inner.call(request))) {
            Ok(inner) => inner,
            Err(panic) => return answer(failed(id, &*panic)),
        };
        if waits {
            self.under_way.fetch_add(1, Ordering::SeqCst);
        }
        let mut guarded = Guarded {
            inner: Some(Box::pin(inner)),
            id,
            shuts_down: (method == "shutdown").then(|| self.ending.clone()),
            under_way: waits.then(|| self.under_way.clone()),
        };
        match Pin::new(&mut guarded).poll(&mut Context::from_waker(Waker::noop())) {
            Poll::Ready(reply) => Box::pin(std::future::ready(reply)),
            // Whoever holds it polls it again, and wakes for it from then on.
            Poll::Pending => Box::pin(guarded),
        }
    }
}

/// A message under way.
struct Guarded<F> {
    inner: Option<Pin<Box<F>>>,
    id: Option<Id>,
    shuts_down: Option<Arc<Ending>>,
    under_way: Option<Arc<AtomicUsize>>,
}

impl<F, E> Future for Guarded<F>
where
    F: Future<Output = Reply<E>>,
{
    type Output = Reply<E>;

    fn poll(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Reply<E>> {
        let this = &mut *self;
        let Some(inner) = this.inner.as_mut() else { return Poll::Pending };
        let reply = match catch_unwind(AssertUnwindSafe(|| inner.as_mut().poll(cx))) {
            Ok(Poll::Pending) => return Poll::Pending,
            Ok(Poll::Ready(reply)) => reply,
            Err(panic) => Ok(failed(this.id.take(), &*panic)),
        };
        // Never polled again, and no longer under way; should dropping it panic, that is all that is lost.
        let inner = this.inner.take();
        let _ = catch_unwind(AssertUnwindSafe(|| drop(inner)));
        if let (Some(ending), Ok(Some(response))) = (&this.shuts_down, &reply)
            && response.is_ok()
        {
            ending.shut_down();
        }
        Poll::Ready(reply)
    }
}

impl<F> Drop for Guarded<F> {
    fn drop(&mut self) {
        if let Some(under_way) = &self.under_way {
            under_way.fetch_sub(1, Ordering::SeqCst);
        }
    }
}

fn without_params(request: Request) -> Request {
    let (method, id, _) = request.into_parts();
    let plain = Request::build(method);
    match id {
        Some(id) => plain.id(id).finish(),
        None => plain.finish(),
    }
}

/// The answer to a request whose handling panicked; nothing for a notification.
fn failed(id: Option<Id>, panic: &(dyn Any + Send)) -> Option<Response> {
    Some(Response::from_error(id?, defect(panic)))
}

/// The error that stands for a panic: a defect of ours, which the client may tell its user.
pub(super) fn defect(panic: &(dyn Any + Send)) -> Error {
    let what = panic.downcast_ref::<&str>().copied().or_else(|| panic.downcast_ref::<String>().map(String::as_str));
    let mut error = Error::internal_error();
    error.message = format!("a defect in leadsman: {}", what.unwrap_or("no message")).into();
    error
}

fn unreadable(params: Option<&Value>) -> Response {
    let member = |name: &str| params.and_then(|params| params.get(name));
    let code = member("code").and_then(Value::as_i64).unwrap_or(-32600);
    let message = member("message").and_then(Value::as_str).unwrap_or("this is no message").to_owned();
    let id = match member("id") {
        Some(Value::String(id)) => Id::String(id.clone()),
        Some(id) => id.as_i64().map_or(Id::Null, Id::Number),
        None => Id::Null,
    };
    Response::from_error(id, Error { code: ErrorCode::from(code), message: message.into(), data: None })
}
