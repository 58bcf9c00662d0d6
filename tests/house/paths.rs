//! The paths of a crate's sources, read with a parser, and what they mean where they stand.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};

/// A module: where it stands and what its names mean.
pub struct Module {
    pub file: usize,
    path: Vec<String>,
    items: BTreeSet<String>,
    pub imports: Vec<Import>,
}

/// One name brought into a module, or all names of another one.
pub struct Import {
    /// The name, or none for all of them.
    pub name: Option<String>,
    pub path: Vec<String>,
    /// Whether it is only handed on to others.
    pub handed_on: bool,
}

/// A path as a source has it.
pub struct Used {
    pub module: usize,
    pub path: Vec<String>,
}

/// What a path names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Target {
    Module(usize),
    Item(usize),
}

/// What all files hold, before paths are resolved.
#[derive(Default)]
pub struct Crate {
    pub modules: Vec<Module>,
    by_path: BTreeMap<Vec<String>, usize>,
    pub used: Vec<Used>,
}
/// The module that a file is.
pub fn module_path(file: &str) -> Vec<String> {
    if file == "lib.rs" {
        return Vec::new();
    }
    if file == "main.rs" {
        // A crate of its own, which nothing else can name.
        return vec!["main.rs".to_owned()];
    }
    let path = file.strip_suffix("/mod.rs").or(file.strip_suffix(".rs")).unwrap_or(file);
    path.split('/').map(str::to_owned).collect()
}

fn for_tests_only(attrs: &[syn::Attribute]) -> bool {
    let test = |attr: &syn::Attribute| attr.parse_args::<syn::Path>().is_ok_and(|path| path.is_ident("test"));
    attrs.iter().any(|attr| attr.path().is_ident("test") || (attr.path().is_ident("cfg") && test(attr)))
}
impl Crate {
    /// The module that a file is.
    pub fn module_of(&self, file: usize) -> usize {
        self.modules.iter().position(|module| module.file == file).expect("each file is a module")
    }

    /// Takes in what a module holds.
    pub fn read(&mut self, file: usize, path: Vec<String>, items: &[syn::Item]) {
        let module = self.modules.len();
        self.by_path.insert(path.clone(), module);
        self.modules.push(Module { file, path, items: BTreeSet::new(), imports: Vec::new() });
        let mut reader = Reader::new(std::mem::take(self), module);
        for item in items {
            reader.visit_item(item);
        }
        *self = reader.all;
    }

    /// Whether a path leads to a child of a module.
    pub fn lies_below(&self, module: usize, path: &[String]) -> bool {
        let own = &self.modules[module].path;
        let found = self.resolve(module, path);
        found.iter().all(|target| {
            let file = match target {
                Target::Module(module) => self.modules[*module].file,
                Target::Item(file) => *file,
            };
            let other = &self.modules[self.module_of(file)].path;
            other.len() > own.len() && other.starts_with(own)
        })
    }

    /// What a path means in a module; nothing if it leads out of the crate.
    pub fn resolve(&self, module: usize, path: &[String]) -> Vec<Target> {
        self.follow(module, path, &mut HashSet::new())
    }

    fn follow(&self, module: usize, path: &[String], seen: &mut HashSet<(usize, String)>) -> Vec<Target> {
        let Some((first, mut rest)) = path.split_first() else { return Vec::new() };
        let mut found = match first.as_str() {
            "crate" | "leadsman" => {
                self.by_path.get(&Vec::new()).map(|root| Target::Module(*root)).into_iter().collect()
            }
            "self" => vec![Target::Module(module)],
            "super" => self.parent(module).into_iter().collect(),
            name => self.look_up(module, name, seen),
        };
        while let Some((name, after)) = rest.split_first() {
            rest = after;
            let mut next = Vec::new();
            for target in &found {
                match target {
                    Target::Module(module) if name == "super" => next.extend(self.parent(*module)),
                    Target::Module(module) if name == "self" => next.push(Target::Module(*module)),
                    Target::Module(module) => next.extend(self.look_up(*module, name, seen)),
                    Target::Item(_) => {}
                }
            }
            if next.is_empty() {
                // A variant, or what belongs to a type.
                next.extend(found.iter().filter(|target| matches!(target, Target::Item(_))));
            }
            found = next;
        }
        found.sort();
        found.dedup();
        found
    }

    fn parent(&self, module: usize) -> Option<Target> {
        let (_, parent) = self.modules[module].path.split_last()?;
        self.by_path.get(parent).map(|parent| Target::Module(*parent))
    }

    /// What a name means in a module.
    fn look_up(&self, module: usize, name: &str, seen: &mut HashSet<(usize, String)>) -> Vec<Target> {
        if !seen.insert((module, name.to_owned())) {
            return Vec::new();
        }
        let this = &self.modules[module];
        let mut found = Vec::new();
        let child: Vec<String> = this.path.iter().cloned().chain([name.to_owned()]).collect();
        found.extend(self.by_path.get(&child).map(|child| Target::Module(*child)));
        if this.items.contains(name) {
            found.push(Target::Item(this.file));
        }
        for import in this.imports.iter().filter(|import| import.name.as_deref() == Some(name)) {
            found.extend(self.follow(module, &import.path, seen));
        }
        if found.is_empty() {
            for import in this.imports.iter().filter(|import| import.name.is_none()) {
                for target in self.follow(module, &import.path, &mut seen.clone()) {
                    if let Target::Module(module) = target {
                        found.extend(self.look_up(module, name, seen));
                    }
                }
            }
        }
        seen.remove(&(module, name.to_owned()));
        found
    }
}
/// Collects what a module defines, imports and names.
pub struct Reader {
    pub all: Crate,
    module: usize,
    /// The names bound in the functions that enclose what is read: they hide what the module has by the same name.
    bound: Vec<BTreeSet<String>>,
    /// The first text that was read.
    pub first_text: Option<String>,
}

impl Reader {
    /// A reader of what stands in a module.
    pub fn new(all: Crate, module: usize) -> Self {
        Self { all, module, bound: Vec::new(), first_text: None }
    }

    fn define(&mut self, name: &syn::Ident) {
        self.all.modules[self.module].items.insert(name.to_string());
    }

    fn name(&mut self, path: Vec<String>) {
        let hidden = |name: &String| self.bound.iter().any(|bound| bound.contains(name));
        if path.len() > 1 || path.first().is_some_and(|name| !hidden(name)) {
            self.all.used.push(Used { module: self.module, path });
        }
    }

    fn import(&mut self, tree: &syn::UseTree, before: &[String], handed_on: bool) {
        let with = |name: &syn::Ident| before.iter().cloned().chain([name.to_string()]).collect::<Vec<_>>();
        let (name, path) = match tree {
            syn::UseTree::Path(tree) => return self.import(&tree.tree, &with(&tree.ident), handed_on),
            syn::UseTree::Group(group) => {
                return group.items.iter().for_each(|tree| self.import(tree, before, handed_on));
            }
            syn::UseTree::Glob(_) => (None, before.to_vec()),
            syn::UseTree::Name(tree) if tree.ident == "self" => (before.last().cloned(), before.to_vec()),
            syn::UseTree::Name(tree) => (Some(tree.ident.to_string()), with(&tree.ident)),
            syn::UseTree::Rename(tree) if tree.ident == "self" => (Some(tree.rename.to_string()), before.to_vec()),
            syn::UseTree::Rename(tree) => (Some(tree.rename.to_string()), with(&tree.ident)),
        };
        self.all.modules[self.module].imports.push(Import { name, path, handed_on });
    }

    /// The paths in a macro's tokens; what follows a dot is a field or a method.
    fn tokens(&mut self, tokens: TokenStream) {
        let mut tokens = tokens.into_iter().peekable();
        let (mut path, mut joined, mut after_dot) = (Vec::new(), false, false);
        while let Some(token) = tokens.next() {
            match token {
                TokenTree::Ident(ident) => {
                    if !joined {
                        self.end(&mut path);
                    }
                    if !after_dot {
                        path.push(ident.to_string());
                    }
                    (joined, after_dot) = (false, false);
                }
                TokenTree::Punct(punct) if punct.as_char() == ':' => {
                    let second = matches!(tokens.peek(), Some(TokenTree::Punct(next)) if next.as_char() == ':');
                    joined = second && !path.is_empty();
                    if second {
                        tokens.next();
                    } else {
                        // A field with its value.
                        path.clear();
                    }
                }
                TokenTree::Group(group) => {
                    self.end(&mut path);
                    (joined, after_dot) = (false, false);
                    self.tokens(group.stream());
                }
                TokenTree::Punct(punct) => {
                    self.end(&mut path);
                    (joined, after_dot) = (false, punct.as_char() == '.');
                }
                TokenTree::Literal(_) => {
                    self.end(&mut path);
                    (joined, after_dot) = (false, false);
                }
            }
        }
        self.end(&mut path);
    }

    fn end(&mut self, path: &mut Vec<String>) {
        if !path.is_empty() {
            self.name(std::mem::take(path));
        }
    }

    fn within(&mut self, bound: BTreeSet<String>, read: impl FnOnce(&mut Self)) {
        self.bound.push(bound);
        read(self);
        self.bound.pop();
    }
}

/// The names that patterns bind.
#[derive(Default)]
struct Bound(BTreeSet<String>);

impl Visit<'_> for Bound {
    fn visit_pat_ident(&mut self, pattern: &syn::PatIdent) {
        self.0.insert(pattern.ident.to_string());
        visit::visit_pat_ident(self, pattern);
    }
}

impl<'s> Visit<'s> for Reader {
    fn visit_item(&mut self, item: &'s syn::Item) {
        use syn::Item;
        let (name, attrs) = match item {
            Item::Const(item) => (Some(&item.ident), &item.attrs),
            Item::Enum(item) => (Some(&item.ident), &item.attrs),
            Item::Fn(item) => (Some(&item.sig.ident), &item.attrs),
            Item::Static(item) => (Some(&item.ident), &item.attrs),
            Item::Struct(item) => (Some(&item.ident), &item.attrs),
            Item::Trait(item) => (Some(&item.ident), &item.attrs),
            Item::Type(item) => (Some(&item.ident), &item.attrs),
            Item::Union(item) => (Some(&item.ident), &item.attrs),
            Item::Macro(item) => (item.ident.as_ref(), &item.attrs),
            Item::Impl(item) => (None, &item.attrs),
            Item::Mod(item) => (None, &item.attrs),
            Item::Use(item) => (None, &item.attrs),
            _ => return visit::visit_item(self, item),
        };
        if for_tests_only(attrs) {
            return;
        }
        // What stands inside a function is nobody else's.
        if let Some(name) = name
            && self.bound.is_empty()
        {
            self.define(name);
        }
        visit::visit_item(self, item);
    }

    fn visit_item_mod(&mut self, item: &'s syn::ItemMod) {
        let Some((_, items)) = &item.content else { return };
        let this = &self.all.modules[self.module];
        let path = this.path.iter().cloned().chain([item.ident.to_string()]).collect();
        let file = this.file;
        self.all.read(file, path, items);
    }

    fn visit_item_use(&mut self, item: &'s syn::ItemUse) {
        if item.leading_colon.is_none() {
            self.import(&item.tree, &[], !matches!(item.vis, syn::Visibility::Inherited));
        }
    }

    fn visit_item_fn(&mut self, item: &'s syn::ItemFn) {
        let mut bound = Bound::default();
        bound.visit_item_fn(item);
        self.within(bound.0, |reader| visit::visit_item_fn(reader, item));
    }

    fn visit_impl_item_fn(&mut self, item: &'s syn::ImplItemFn) {
        let mut bound = Bound::default();
        bound.visit_impl_item_fn(item);
        self.within(bound.0, |reader| visit::visit_impl_item_fn(reader, item));
    }

    fn visit_path(&mut self, path: &'s syn::Path) {
        if path.leading_colon.is_none() {
            self.name(path.segments.iter().map(|segment| segment.ident.to_string()).collect());
        }
        visit::visit_path(self, path);
    }

    fn visit_attribute(&mut self, _: &'s syn::Attribute) {}

    fn visit_macro(&mut self, mac: &'s syn::Macro) {
        self.visit_path(&mac.path);
        self.tokens(mac.tokens.clone());
    }

    fn visit_lit_str(&mut self, text: &'s syn::LitStr) {
        self.first_text.get_or_insert_with(|| text.value());
    }
}
