//! This same program, run a second time in a worker for what takes long. The page never waits for it, and
//! dropping it stops it.

use std::{cell::RefCell, rc::Rc};

use js_sys::Array;
use wasm_bindgen::{JsCast, JsValue, closure::Closure};
use web_sys::{DedicatedWorkerGlobalScope, MessageEvent, Url, Worker, WorkerOptions, WorkerType};

/// A message in either direction: words, whose meaning depends on their position.
pub type Words = Vec<String>;

/// The first answer of a worker, when it can take its job: messages sent earlier are lost.
const READY: &str = "ready";

/// A running worker.
#[derive(Debug)]
pub struct Running {
    worker: Worker,
    line: Rc<RefCell<Line>>,
    _hear: Closure<dyn FnMut(MessageEvent)>,
    _fail: Closure<dyn FnMut()>,
}

/// Whether a worker can take a job.
#[derive(Debug)]
enum Line {
    /// It is not ready; this is its first job.
    Waits(Words),
    Ready,
}

impl Drop for Running {
    fn drop(&mut self) {
        self.worker.terminate();
    }
}

impl Running {
    /// Gives it another job, for when it has answered the one before.
    pub fn ask(&self, job: Words) {
        match &mut *self.line.borrow_mut() {
            Line::Waits(first) => *first = job,
            // A worker that gets no message fails by itself.
            Line::Ready => drop(self.worker.post_message(&to_js(&job))),
        }
    }
}

/// Starts a worker with a job; `hear` gets each of its answers, `fail` is called once if it breaks. None if
/// the browser has no workers.
pub fn start(
    job: Words,
    mut hear: impl FnMut(Words) + 'static,
    fail: impl FnMut() + 'static,
) -> Option<Running> {
    let worker = load()?;
    let line = Rc::new(RefCell::new(Line::Waits(job)));
    let (own, first) = (worker.clone(), line.clone());
    let hear = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        let words = from_js(&event.data());
        match words.first().map(String::as_str) {
            Some(READY) => {
                if let Line::Waits(job) = first.replace(Line::Ready) {
                    // A worker that gets no message fails by itself.
                    let _ = own.post_message(&to_js(&job));
                }
            }
            _ => hear(words),
        }
    });
    let fail = Closure::<dyn FnMut()>::new(fail);
    worker.set_onmessage(Some(hear.as_ref().unchecked_ref()));
    worker.set_onerror(Some(fail.as_ref().unchecked_ref()));
    Some(Running {
        worker,
        line,
        _hear: hear,
        _fail: fail,
    })
}

/// Loads the program that the page has loaded: the page names its two files in its head.
fn load() -> Option<Worker> {
    let document = web_sys::window()?.document()?;
    let named = |selector| {
        let link = document.query_selector(selector).ok()??;
        let base = link.base_uri().ok()??;
        let url = Url::new_with_base(&link.get_attribute("href")?, &base);
        Some(url.ok()?.href())
    };
    let script = named("link[rel=modulepreload]")?;
    let wasm = named("link[rel=preload][as=fetch]")?;
    let options = WorkerOptions::new();
    options.set_type(WorkerType::Module);
    options.set_name(&format!("{script} {wasm}"));
    Worker::new_with_options("worker.js", &options).ok()
}

/// In a worker: reports that it is ready, and does its jobs. False in a page.
pub fn serve(work: fn(&[String], &dyn Fn(Words))) -> bool {
    let Ok(scope) = js_sys::global().dyn_into::<DedicatedWorkerGlobalScope>() else {
        return false;
    };
    let own = scope.clone();
    let answer = move |words: Words| {
        // The page may be gone; then nobody waits for the answer.
        let _ = own.post_message(&to_js(&words));
    };
    let tell = answer.clone();
    let hear = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        work(&from_js(&event.data()), &tell);
    });
    scope.set_onmessage(Some(hear.as_ref().unchecked_ref()));
    hear.forget();
    answer(vec![READY.into()]);
    true
}

pub(super) fn to_js(words: &Words) -> Array {
    words.iter().map(JsValue::from).collect()
}

pub(super) fn from_js(value: &JsValue) -> Words {
    let words = value.dyn_ref::<Array>().map(Array::iter);
    words
        .into_iter()
        .flatten()
        .filter_map(|it| it.as_string())
        .collect()
}
