//! What can be derived is derived: no effect and no memo of the app writes a signal.

use syn::visit::{self, Visit};

use super::paths::{is_test, parsed};
use super::{SourceFile, assert_none, rust_files_below};

/// What runs again by itself when a signal changes.
const RUNS_BY_ITSELF: [(&str, &[&str]); 3] = [
    ("Effect", &["new", "new_sync", "watch", "watch_sync"]),
    ("Memo", &["new", "new_with_compare"]),
    ("Signal", &["derive"]),
];

/// How a signal is written, and with how many arguments.
const WRITES: [(&str, usize); 9] = [
    ("set", 1),
    ("update", 1),
    ("write", 0),
    ("try_set", 1),
    ("try_update", 1),
    ("maybe_update", 1),
    ("update_untracked", 1),
    ("write_untracked", 0),
    ("notify", 0),
];

/// Writes that stand in an effect and are made later, by an event of their own: where, what, and why.
const LATER: [(&str, &str, &str); 2] = [
    (
        "app/src/derived/layout.rs",
        "pauses.update",
        "the clock writes it when a pause has lasted",
    ),
    (
        "app/src/rooms/analysis.rs",
        "said.try_set",
        "the worker's answer writes it",
    ),
];

#[test]
fn no_effect_writes_a_signal() {
    let mut offences = Vec::new();
    let mut used = Vec::new();
    for file in rust_files_below("app/src") {
        for (line, what) in writes(&file) {
            let later =
                |(path, write, _): &(&str, &str, &str)| *path == file.path && *write == what;
            match LATER.iter().position(later) {
                Some(at) => used.push(at),
                None => offences.push(format!("{}:{line}: {what}", file.path)),
            }
        }
    }
    for (at, (path, write, _)) in LATER.iter().enumerate() {
        if !used.contains(&at) {
            offences.push(format!("{path}: {write} is on the list, and is not there"));
        }
    }
    assert_none(
        "effects and memos write no signal: derive it, or write it where the event happens",
        &offences,
    );
}

/// The line and name of every write in something that runs by itself.
fn writes(file: &SourceFile) -> Vec<(usize, String)> {
    let mut reader = Reader::default();
    reader.visit_file(&parsed(file));
    reader.found
}

#[derive(Default)]
struct Reader {
    /// How deep in things that run by themselves.
    depth: usize,
    found: Vec<(usize, String)>,
}

impl<'ast> Visit<'ast> for Reader {
    fn visit_item(&mut self, item: &'ast syn::Item) {
        match item {
            syn::Item::Mod(it) if is_test(&it.attrs) => {}
            item => visit::visit_item(self, item),
        }
    }

    fn visit_expr_call(&mut self, call: &'ast syn::ExprCall) {
        let runs = usize::from(runs_by_itself(&call.func));
        self.depth += runs;
        visit::visit_expr_call(self, call);
        self.depth -= runs;
    }

    fn visit_expr_method_call(&mut self, call: &'ast syn::ExprMethodCall) {
        let write = |(name, arguments): &(&str, usize)| {
            call.method == name && call.args.len() == *arguments
        };
        if self.depth > 0 && WRITES.iter().any(write) {
            let name = format!("{}.{}", last_name(&call.receiver), call.method);
            self.found.push((call.method.span().start().line, name));
        }
        visit::visit_expr_method_call(self, call);
    }
}

fn runs_by_itself(function: &syn::Expr) -> bool {
    let syn::Expr::Path(path) = function else {
        return false;
    };
    let names: Vec<String> = (path.path.segments.iter())
        .map(|it| it.ident.to_string())
        .collect();
    let [.., of, name] = names.as_slice() else {
        return false;
    };
    let known = RUNS_BY_ITSELF.iter().find(|(known, _)| known == of);
    known.is_some_and(|(_, names)| names.contains(&name.as_str()))
}

/// The last name of what a method is called on.
fn last_name(expression: &syn::Expr) -> String {
    match expression {
        syn::Expr::Path(it) => {
            let last = it.path.segments.last();
            last.map_or(String::new(), |last| last.ident.to_string())
        }
        syn::Expr::Field(it) => match &it.member {
            syn::Member::Named(name) => name.to_string(),
            syn::Member::Unnamed(at) => at.index.to_string(),
        },
        syn::Expr::Paren(it) => last_name(&it.expr),
        syn::Expr::MethodCall(it) => format!("{}()", it.method),
        _ => "…".into(),
    }
}

#[test]
fn writes_are_found_in_effects_alone() {
    let found = |text: &str| -> Vec<String> {
        let (path, text) = ("a.rs".into(), text.into());
        let found = writes(&SourceFile { path, text });
        found.into_iter().map(|(_, what)| what).collect()
    };
    let effect = "fn f() { Effect::new(move |_| { if a.get() { it.b.set(1); } peek(|_| c.update(|n| *n += 1)) }); }";
    assert_eq!(found(effect), ["b.set", "c.update"]);
    assert_eq!(
        found("fn f() { let m = Memo::new(|_| *a.write() = 1); }"),
        ["a.write"]
    );
    assert_eq!(found("fn f() { let g = move |_| a.set(1); }"), [""; 0]);
    let page = "fn f() { Effect::new(move |_| { store.set(NAME, text); kept.set_value(1); page::set_root(a, b) }); }";
    assert_eq!(found(page), [""; 0]);
}
