//! Which file names which: the `use`s and paths of Rust source, read as a tree and led to the file that
//! holds what is named.

use std::collections::{BTreeMap, BTreeSet};

use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};

use super::SourceFile;

/// One file names something of another.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Arrow {
    /// The file that names.
    pub from: String,
    /// The file that is named.
    pub to: String,
}

/// Names of modules, from the root down.
type Path = Vec<String>;

/// One crate, read.
pub struct Crate {
    /// As its programs name it.
    name: &'static str,
    /// The file of each module that has one; the root's path is empty.
    files: BTreeMap<Path, String>,
    /// What each module holds, those inside a file included.
    modules: BTreeMap<Path, Module>,
    /// What each file names.
    named: Vec<Named>,
}

/// A path as it is written.
struct Named {
    file: String,
    /// The module in which it is.
    module: Path,
    path: Path,
    /// True if it is only handed on (`pub use`).
    is_handed_on: bool,
}

/// What a module holds.
#[derive(Default)]
struct Module {
    /// What is declared in it.
    items: BTreeSet<String>,
    /// What `use` brings in: its name here, and its path from the root.
    brought: BTreeMap<String, Path>,
    /// Modules all of whose names are brought in.
    globs: Vec<Path>,
}

impl Crate {
    /// The crate `name` whose root (`lib.rs` or `main.rs`) is in `folder`, of these files. Tests are left out.
    pub fn new(name: &'static str, folder: &str, files: &[SourceFile]) -> Self {
        let in_folder = files
            .iter()
            .filter_map(|file| Some((module_of(folder, &file.path)?, file)));
        let trees: Vec<(Path, &SourceFile, syn::File)> = in_folder
            .map(|(module, file)| (module, file, parsed(file)))
            .collect();
        let tests: Vec<Path> = trees
            .iter()
            .flat_map(|(module, _, tree)| tests_declared(module, tree))
            .collect();
        let mut it = Self {
            name,
            files: BTreeMap::new(),
            modules: BTreeMap::new(),
            named: Vec::new(),
        };
        let is_test = |module: &Path| tests.iter().any(|test| module.starts_with(test));
        let mut trees = trees;
        trees.retain(|(module, ..)| !is_test(module));
        for (module, file, _) in &trees {
            it.files.insert(module.clone(), file.path.clone());
            it.modules.entry(module.clone()).or_default();
        }
        for (module, file, tree) in trees {
            let mut reader = Reader {
                own: &mut it,
                file: &file.path,
                module,
            };
            reader.visit_file(&tree);
        }
        it
    }

    /// Every arrow between its files. What is only handed on (`pub use`) is named by whoever uses it.
    pub fn arrows(&self) -> BTreeSet<Arrow> {
        let named = self.named.iter().filter(|it| !it.is_handed_on);
        let arrows = named.filter_map(|it| {
            let to = self.file_of(&self.rooted(&it.module, &it.path)?)?;
            let from = it.file.clone();
            (from != to).then_some(Arrow { from, to })
        });
        arrows.collect()
    }

    /// The names at the root that each file names, as they are written.
    pub fn root_names(&self) -> BTreeSet<(String, String)> {
        let named = self.named.iter().filter_map(|it| {
            let path = self.rooted(&it.module, &it.path)?;
            Some((it.file.clone(), path.first()?.clone()))
        });
        named.collect()
    }

    /// The path from the root of a path as written in `module`; none if it leads to another crate or to
    /// something that is always there.
    fn rooted(&self, module: &[String], path: &[String]) -> Option<Path> {
        let (first, rest) = path.split_first()?;
        match first.as_str() {
            "crate" => Some(rest.to_vec()),
            name if name == self.name => Some(rest.to_vec()),
            "self" | "super" => {
                let mut start = module.to_vec();
                let mut rest = path;
                while let [name, more @ ..] = rest
                    && (name == "self" || name == "super")
                {
                    if name == "super" {
                        start.pop();
                    }
                    rest = more;
                }
                Some([&start, rest].concat())
            }
            name => {
                let own = self.modules.get(module)?;
                let below = [module, path].concat();
                let is_declared = |glob: &Path| {
                    let path = [glob.as_slice(), &path[..1]].concat();
                    let found = self.declared(&path, &mut BTreeSet::new());
                    found.is_some_and(|at| self.modules[&at].items.contains(name))
                };
                let is_here = own.brought.contains_key(name)
                    || self.modules.contains_key(&below[..=module.len()])
                    || own.globs.iter().any(is_declared);
                is_here.then_some(below)
            }
        }
    }

    /// The file that declares what a path from the root leads to; none if that is a module as a whole.
    fn file_of(&self, path: &[String]) -> Option<String> {
        self.declared(path, &mut BTreeSet::new())
            .map(|module| self.file_with(&module))
    }

    /// The module that declares what a path leads to.
    fn declared(&self, path: &[String], seen: &mut BTreeSet<Path>) -> Option<Path> {
        if !seen.insert(path.to_vec()) {
            return None;
        }
        let modules = (0..=path.len()).rev();
        let names = modules
            .into_iter()
            .find(|names| self.modules.contains_key(&path[..*names]))?;
        let (module, rest) = path.split_at(names);
        let (name, more) = rest.split_first()?;
        let here = &self.modules[module];
        if let Some(from) = here.brought.get(name) {
            // A module that is brought in and not named through is no place of its own.
            return self.declared(&[from, more].concat(), seen);
        }
        if !here.items.contains(name) {
            for glob in &here.globs {
                let within = [glob.as_slice(), rest].concat();
                let found = self.declared(&within, seen);
                let is_declared = |at: &Path| self.modules[at].items.contains(name);
                if let Some(found) = found.filter(is_declared) {
                    return Some(found);
                }
            }
        }
        Some(module.to_vec())
    }

    fn file_with(&self, module: &[String]) -> String {
        let mut modules = (0..=module.len()).rev();
        let file = modules.find_map(|names| self.files.get(&module[..names]));
        file.cloned().unwrap_or_default()
    }
}

/// The modules in files of their own that are declared as tests.
fn tests_declared(module: &[String], tree: &syn::File) -> Vec<Path> {
    let tests = tree.items.iter().filter_map(|item| match item {
        syn::Item::Mod(it) if is_test(&it.attrs) && it.content.is_none() => {
            Some([module, &[it.ident.to_string()]].concat())
        }
        _ => None,
    });
    tests.collect()
}

/// The path of the module that a file holds; none if it is not of this folder or of a program in it.
fn module_of(folder: &str, path: &str) -> Option<Vec<String>> {
    let path = path.strip_prefix(folder)?.strip_prefix('/')?;
    let path = path.strip_suffix(".rs")?;
    if path == "lib" || path == "main" {
        return Some(Vec::new());
    }
    let mut names: Vec<String> = path.split('/').map(str::to_owned).collect();
    if names[0] == "bin" {
        return None;
    }
    if names.last().is_some_and(|name| name == "mod") {
        names.pop();
    }
    Some(names)
}

/// The tree of a file.
pub fn parsed(file: &SourceFile) -> syn::File {
    syn::parse_file(&file.text).unwrap_or_else(|why| panic!("{}: {why}", file.path))
}

/// True for what is compiled into tests only.
pub fn is_test(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| match &attribute.meta {
        syn::Meta::List(list) => {
            attribute.path().is_ident("cfg") && list.tokens.to_string() == "test"
        }
        meta => meta.path().is_ident("test"),
    })
}

/// Reads what one file declares, brings in and names.
struct Reader<'c> {
    own: &'c mut Crate,
    file: &'c str,
    /// The module at hand: that of the file, or one inside it.
    module: Path,
}

impl Reader<'_> {
    fn here(&mut self) -> &mut Module {
        self.own.modules.entry(self.module.clone()).or_default()
    }

    fn name(&mut self, path: Path, is_handed_on: bool) {
        self.own.named.push(Named {
            file: self.file.to_owned(),
            module: self.module.clone(),
            path,
            is_handed_on,
        });
    }

    /// Brings in what a `use` says. `before` is the path so far.
    fn bring(&mut self, tree: &syn::UseTree, before: &[String], is_handed_on: bool) {
        let with = |name: &syn::Ident| -> Path {
            match name == "self" {
                true => before.to_vec(),
                false => [before, &[name.to_string()]].concat(),
            }
        };
        let (name, path) = match tree {
            syn::UseTree::Path(it) => {
                let path = [before, &[it.ident.to_string()]].concat();
                return self.bring(&it.tree, &path, is_handed_on);
            }
            syn::UseTree::Group(it) => {
                for item in &it.items {
                    self.bring(item, before, is_handed_on);
                }
                return;
            }
            syn::UseTree::Glob(_) => {
                if let Some(path) = self.own.rooted(&self.module, before) {
                    self.here().globs.push(path);
                }
                // A module that all is brought in from is named as a whole; what is used of it is read where it is.
                return self.name(before.to_vec(), is_handed_on);
            }
            syn::UseTree::Name(it) => {
                let path = with(&it.ident);
                (path.last().cloned().unwrap_or_default(), path)
            }
            syn::UseTree::Rename(it) => (it.rename.to_string(), with(&it.ident)),
        };
        if let Some(rooted) = self.own.rooted(&self.module, &path) {
            self.here().brought.insert(name, rooted);
        }
        self.name(path, is_handed_on);
    }

    /// The paths in what a macro is given.
    fn tokens(&mut self, tokens: TokenStream) {
        let mut path = Path::new();
        let mut colons = 0;
        for token in tokens {
            match token {
                TokenTree::Ident(name) => {
                    if colons != 2 {
                        self.end(&mut path);
                    }
                    path.push(name.to_string());
                    colons = 0;
                }
                TokenTree::Punct(mark) if mark.as_char() == ':' && !path.is_empty() => colons += 1,
                other => {
                    self.end(&mut path);
                    colons = 0;
                    if let TokenTree::Group(group) = other {
                        self.tokens(group.stream());
                    }
                }
            }
        }
        self.end(&mut path);
    }

    fn end(&mut self, path: &mut Path) {
        let path = std::mem::take(path);
        if !path.is_empty() {
            self.name(path, false);
        }
    }
}

/// The name of an item that others can name.
fn name_of(item: &syn::Item) -> Option<&syn::Ident> {
    Some(match item {
        syn::Item::Const(it) => &it.ident,
        syn::Item::Enum(it) => &it.ident,
        syn::Item::Fn(it) => &it.sig.ident,
        syn::Item::Static(it) => &it.ident,
        syn::Item::Struct(it) => &it.ident,
        syn::Item::Trait(it) => &it.ident,
        syn::Item::Type(it) => &it.ident,
        syn::Item::Macro(it) => it.ident.as_ref()?,
        _ => return None,
    })
}

impl<'ast> Visit<'ast> for Reader<'_> {
    fn visit_item(&mut self, item: &'ast syn::Item) {
        let attributes = match item {
            syn::Item::Mod(it) => &it.attrs[..],
            syn::Item::Fn(it) => &it.attrs,
            syn::Item::Use(it) => &it.attrs,
            syn::Item::Impl(it) => &it.attrs,
            _ => &[],
        };
        if is_test(attributes) {
            return;
        }
        if let Some(name) = name_of(item) {
            self.here().items.insert(name.to_string());
        }
        visit::visit_item(self, item);
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        if item.content.is_some() {
            self.module.push(item.ident.to_string());
            self.here();
            visit::visit_item_mod(self, item);
            self.module.pop();
        }
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let is_handed_on = !matches!(item.vis, syn::Visibility::Inherited);
        self.bring(&item.tree, &[], is_handed_on);
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let names = path.segments.iter().map(|it| it.ident.to_string());
        self.name(names.collect(), false);
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        self.tokens(call.tokens.clone());
        visit::visit_macro(self, call);
    }

    fn visit_attribute(&mut self, attribute: &'ast syn::Attribute) {
        if let syn::Meta::List(list) = &attribute.meta {
            self.tokens(list.tokens.clone());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(path: &str, text: &str) -> SourceFile {
        SourceFile {
            path: path.into(),
            text: text.into(),
        }
    }

    /// What `x/in_x.rs` with this text names.
    fn named(text: &str) -> Vec<String> {
        let files = [
            file("a/src/lib.rs", "pub mod x;\npub mod y;\npub use y::Y;"),
            file(
                "a/src/x/mod.rs",
                "mod in_x;\npub mod z;\npub use self::z::*;\npub struct Own;",
            ),
            file("a/src/x/in_x.rs", text),
            file("a/src/x/z.rs", "pub struct Z;\npub fn go() {}"),
            file("a/src/y.rs", "pub struct Y;\npub const WORD: u8 = 0;"),
        ];
        let found = Crate::new("a", "a/src", &files).arrows();
        let of_it = found.into_iter().filter(|it| it.from == "a/src/x/in_x.rs");
        of_it.map(|it| it.to.replace("a/src/", "")).collect()
    }

    #[test]
    fn uses_lead_to_the_file_that_declares_what_is_named() {
        assert_eq!(
            named("use crate::{y::Y, x::z::{self, Z}};"),
            ["x/z.rs", "y.rs"]
        );
        assert_eq!(named("use super::z::Z as Other;"), ["x/z.rs"]);
        assert_eq!(named("use super::Own;"), ["x/mod.rs"]);
        assert_eq!(named("use a::y::Y;"), ["y.rs"]);
        assert_eq!(named("use other::y::Y;"), [""; 0]);
        assert_eq!(named("use super::*; fn f(_: Z, _: Other) {}"), ["x/z.rs"]);
    }

    #[test]
    fn what_is_handed_on_is_named_by_whoever_uses_it() {
        assert_eq!(named("use crate::Y;"), ["y.rs"]);
        assert_eq!(named("use super::Z;"), ["x/z.rs"]);
        assert_eq!(named("pub use crate::y::Y;"), [""; 0]);
        assert_eq!(named("pub use crate::y::Y; fn f(_: Y) {}"), ["y.rs"]);
    }

    #[test]
    fn a_module_is_not_named_until_something_is_named_through_it() {
        assert_eq!(named("use super::z;"), [""; 0]);
        assert_eq!(named("use super::z; fn f() { z::go(); }"), ["x/z.rs"]);
        assert_eq!(named("use crate::x; type T = Vec<x::Z>;"), ["x/z.rs"]);
    }

    #[test]
    fn paths_are_read_in_macros_and_attributes_and_not_in_comments() {
        let view = "fn f() { view! { <p>{crate::y::Y} \"crate::x::z::Z\"</p> } }";
        assert_eq!(named(view), ["y.rs"]);
        assert_eq!(
            named("#[error(\"{}\", crate::y::WORD)] struct E;"),
            ["y.rs"]
        );
        assert_eq!(
            named("/// [`crate::y::Y`]\nfn f() {} // crate::y::Y"),
            [""; 0]
        );
        assert_eq!(named("mod inner { use super::super::z::Z; }"), ["x/z.rs"]);
    }

    #[test]
    fn names_at_the_root_are_read_as_they_are_written() {
        let files = [
            file("a/src/lib.rs", "pub mod x;\npub mod y;"),
            file("a/src/x/mod.rs", "pub mod deep;"),
            file(
                "a/src/x/deep.rs",
                "pub use crate::y::Y;\nuse super::super::z::{W, V};\nuse super::Own;",
            ),
            file("a/src/y.rs", "fn f() { crate::x::deep::g(); other::h(); }"),
        ];
        let names = Crate::new("a", "a/src", &files).root_names();
        let names: Vec<String> = names
            .into_iter()
            .map(|(file, name)| format!("{} {name}", file.replace("a/src/", "")))
            .collect();
        assert_eq!(
            names,
            ["x/deep.rs x", "x/deep.rs y", "x/deep.rs z", "y.rs x"]
        );
    }

    #[test]
    fn tests_may_name_anything() {
        assert_eq!(
            named("#[cfg(test)]\nmod tests { use crate::y::Y; }"),
            [""; 0]
        );
        let files = [
            file("a/src/lib.rs", "#[cfg(test)]\nmod proof;\npub mod y;"),
            file("a/src/proof.rs", "use crate::y::Y;"),
            file("a/src/y.rs", "pub struct Y;"),
        ];
        let found = Crate::new("a", "a/src", &files).arrows();
        assert!(found.is_empty(), "{found:?}");
    }
}
