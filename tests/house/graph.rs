//! Which file of a crate uses which: every path of the sources, resolved to the file that defines what it names.
//!
//! A `use` and a path in an expression, a type, a pattern or a macro's tokens count alike. A path through a re-export
//! leads to the file that defines the thing, so that a module which only hands on what its children define is used by
//! nobody and uses nobody. Method calls have no path and are not seen. What only a test build holds is left out.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::path::Path;

use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};

/// The sources of a crate as a graph.
pub struct Graph {
    /// The files, by their paths below `src`.
    pub files: Vec<String>,
    /// From file to file, the names used.
    pub arrows: BTreeMap<(usize, usize), BTreeSet<String>>,
    /// The files that a static of one file names, in its order, by the name of the static.
    tables: BTreeMap<(usize, String), Vec<usize>>,
    /// The constants and statics at the top of a file, with the first text that stands in them.
    values: BTreeMap<(usize, String), Option<String>>,
}

/// A module: where it stands and what its names mean.
struct Module {
    file: usize,
    path: Vec<String>,
    items: BTreeSet<String>,
    imports: Vec<Import>,
}

/// One name brought into a module, or all names of another one.
struct Import {
    /// The name, or none for all of them.
    name: Option<String>,
    path: Vec<String>,
    /// Whether it is only handed on to others.
    handed_on: bool,
}

/// A path as a source has it.
struct Used {
    module: usize,
    path: Vec<String>,
}

/// What a path names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum Target {
    Module(usize),
    Item(usize),
}

/// What all files hold, before paths are resolved.
#[derive(Default)]
struct Crate {
    modules: Vec<Module>,
    by_path: BTreeMap<Vec<String>, usize>,
    used: Vec<Used>,
}

impl Graph {
    /// The graph of the sources below a folder.
    pub fn of_folder(src: &Path) -> Self {
        let mut sources = Vec::new();
        let mut folders = vec![src.to_owned()];
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(&folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                } else if path.extension().is_some_and(|extension| extension == "rs") {
                    let name = path.strip_prefix(src).unwrap().to_string_lossy().replace('\\', "/");
                    sources.push((name, std::fs::read_to_string(&path).unwrap()));
                }
            }
        }
        Self::of(sources)
    }

    /// The graph of sources given by their paths below `src` and their texts.
    pub fn of(sources: impl IntoIterator<Item = (impl Into<String>, impl AsRef<str>)>) -> Self {
        let mut sources: Vec<_> = sources.into_iter().map(|(path, text)| (path.into(), text)).collect();
        sources.sort_by(|a, b| a.0.cmp(&b.0));
        let mut all = Crate::default();
        let mut parsed = Vec::new();
        for (file, (path, text)) in sources.iter().enumerate() {
            let text = syn::parse_file(text.as_ref()).unwrap_or_else(|error| panic!("{path}: {error}"));
            all.read(file, module_path(path), &text.items);
            parsed.push(text);
        }
        let mut graph = Self {
            files: sources.into_iter().map(|(path, _)| path).collect(),
            arrows: BTreeMap::new(),
            tables: BTreeMap::new(),
            values: BTreeMap::new(),
        };
        graph.draw(&all);
        for (file, text) in parsed.iter().enumerate() {
            graph.keep_values(&all, file, &text.items);
        }
        graph
    }

    fn draw(&mut self, all: &Crate) {
        let mut arrow = |module: usize, path: &[String]| {
            let from = all.modules[module].file;
            for target in all.resolve(module, path, &mut HashSet::new()) {
                if let Target::Item(to) = target
                    && to != from
                {
                    // A variant, or what belongs to a type, goes by the type's name.
                    let leads = |&end: &usize| all.resolve(module, &path[..end], &mut HashSet::new()).contains(&target);
                    let end = (1..path.len()).find(leads).unwrap_or(path.len());
                    self.arrows.entry((from, to)).or_default().insert(path[end - 1].clone());
                }
            }
        };
        for (number, module) in all.modules.iter().enumerate() {
            for import in module.imports.iter().filter(|import| import.name.is_some()) {
                let inside = import.handed_on && all.lies_below(number, &import.path);
                if !inside {
                    arrow(number, &import.path);
                }
            }
        }
        for used in &all.used {
            arrow(used.module, &used.path);
        }
    }

    fn keep_values(&mut self, all: &Crate, file: usize, items: &[syn::Item]) {
        for item in items {
            let (name, value) = match item {
                syn::Item::Const(item) => (item.ident.to_string(), &item.expr),
                syn::Item::Static(item) => (item.ident.to_string(), &item.expr),
                _ => continue,
            };
            let module = all.module_of(file);
            let mut reader = Reader { all: Crate::default(), module, bound: Vec::new(), first_text: None };
            reader.visit_expr(value);
            let named = reader.all.used.iter().flat_map(|used| all.resolve(module, &used.path, &mut HashSet::new()));
            let named = named.filter_map(|target| match target {
                Target::Item(to) if to != file => Some(to),
                _ => None,
            });
            self.tables.insert((file, name.clone()), named.collect());
            self.values.insert((file, name), reader.first_text);
        }
    }

    /// The number of a file.
    pub fn file(&self, path: &str) -> Option<usize> {
        self.files.iter().position(|file| file == path)
    }

    /// The files with a constant or static of a name at their top, and the first text that stands in it.
    pub fn having<'g>(&'g self, name: &'g str) -> impl Iterator<Item = (usize, Option<&'g str>)> {
        let values = self.values.iter().filter(move |((_, value), _)| value == name);
        values.map(|((file, _), text)| (*file, text.as_deref()))
    }

    /// The files that a constant or static names, in its order.
    pub fn named_in(&self, file: usize, name: &str) -> &[usize] {
        self.tables.get(&(file, name.to_owned())).map_or(&[], Vec::as_slice)
    }

    /// An arrow as a line.
    pub fn line(&self, (from, to): (usize, usize)) -> String {
        let names: Vec<&str> = self.arrows[&(from, to)].iter().map(String::as_str).collect();
        format!("{} -> {}: {}", self.files[from], self.files[to], names.join(", "))
    }

    /// The rings: sets of files that all reach each other, each with a shortest way round and the arrows inside.
    pub fn rings(&self) -> Vec<String> {
        let mut uses = vec![Vec::new(); self.files.len()];
        for (from, to) in self.arrows.keys() {
            uses[*from].push(*to);
        }
        let reach: Vec<Vec<Option<usize>>> = (0..self.files.len()).map(|file| came_from(&uses, file)).collect();
        let mut told = BTreeSet::new();
        let mut rings = Vec::new();
        for (file, reached) in reach.iter().enumerate() {
            let reaches_back = |other: &usize| reached[*other].is_some() && reach[*other][file].is_some();
            let ring: Vec<usize> = (0..self.files.len()).filter(reaches_back).collect();
            if ring.len() < 2 || !told.insert(ring.clone()) {
                continue;
            }
            let within = |(from, to): &&(usize, usize)| ring.contains(from) && ring.contains(to);
            let arrows: Vec<String> = self.arrows.keys().filter(within).map(|arrow| self.line(*arrow)).collect();
            let round = shortest(&uses, &ring).into_iter().map(|file| self.files[file].as_str()).collect::<Vec<_>>();
            rings.push(format!(
                "a ring of {} files, {} arrows; shortest: {}\n  {}",
                ring.len(),
                arrows.len(),
                round.join(" -> "),
                arrows.join("\n  ")
            ));
        }
        rings
    }
}

/// From which file each is first reached by one or more arrows from a file.
fn came_from(uses: &[Vec<usize>], start: usize) -> Vec<Option<usize>> {
    let mut from = vec![None; uses.len()];
    let mut next = std::collections::VecDeque::from([start]);
    while let Some(file) = next.pop_front() {
        for &used in &uses[file] {
            if from[used].is_none() {
                from[used] = Some(file);
                next.push_back(used);
            }
        }
    }
    from
}

/// A shortest way from a file of a ring back to it.
fn shortest(uses: &[Vec<usize>], ring: &[usize]) -> Vec<usize> {
    let ways = ring.iter().map(|&start| {
        let from = came_from(uses, start);
        let mut way = vec![start];
        let mut file = from[start];
        while let Some(before) = file {
            way.push(before);
            file = if before == start { None } else { from[before] };
        }
        way.reverse();
        way
    });
    ways.min_by_key(Vec::len).unwrap_or_default()
}

/// The module that a file is.
fn module_path(file: &str) -> Vec<String> {
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
    fn module_of(&self, file: usize) -> usize {
        self.modules.iter().position(|module| module.file == file).expect("each file is a module")
    }

    fn read(&mut self, file: usize, path: Vec<String>, items: &[syn::Item]) {
        let module = self.modules.len();
        self.by_path.insert(path.clone(), module);
        self.modules.push(Module { file, path, items: BTreeSet::new(), imports: Vec::new() });
        let mut reader = Reader { all: std::mem::take(self), module, bound: Vec::new(), first_text: None };
        for item in items {
            reader.visit_item(item);
        }
        *self = reader.all;
    }

    /// Whether a path leads to a child of a module.
    fn lies_below(&self, module: usize, path: &[String]) -> bool {
        let own = &self.modules[module].path;
        let found = self.resolve(module, path, &mut HashSet::new());
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
    fn resolve(&self, module: usize, path: &[String], seen: &mut HashSet<(usize, String)>) -> Vec<Target> {
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
            found.extend(self.resolve(module, &import.path, seen));
        }
        if found.is_empty() {
            for import in this.imports.iter().filter(|import| import.name.is_none()) {
                for target in self.resolve(module, &import.path, &mut seen.clone()) {
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
struct Reader {
    all: Crate,
    module: usize,
    /// The names bound in the functions that enclose what is read: they hide what the module has by the same name.
    bound: Vec<BTreeSet<String>>,
    first_text: Option<String>,
}

impl Reader {
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
