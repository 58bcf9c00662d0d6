//! Which file of a crate uses which: every path of the sources, resolved to the file that defines what it names.
//!
//! A `use` and a path in an expression, a type, a pattern or a macro's tokens count alike. A path through a re-export
//! leads to the file that defines the thing, so that a module which only hands on what its children define is used by
//! nobody and uses nobody. Method calls have no path and are not seen. What only a test build holds is left out.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use syn::visit::Visit as _;

use super::paths::{Crate, Reader, Target, module_path};

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
            for target in all.resolve(module, path) {
                if let Target::Item(to) = target
                    && to != from
                {
                    // A variant, or what belongs to a type, goes by the type's name.
                    let leads = |&end: &usize| all.resolve(module, &path[..end]).contains(&target);
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
            let mut reader = Reader::new(Crate::default(), module);
            reader.visit_expr(value);
            let named = reader.all.used.iter().flat_map(|used| all.resolve(module, &used.path));
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

    /// The rings of the arrows that count: sets of files that all reach each other, each with a shortest way round and the
    /// arrows inside.
    pub fn rings(&self, counts: impl Fn(&str, &str) -> bool) -> Vec<String> {
        let mut uses = vec![Vec::new(); self.files.len()];
        for (from, to) in self.arrows.keys().filter(|(from, to)| counts(&self.files[*from], &self.files[*to])) {
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
