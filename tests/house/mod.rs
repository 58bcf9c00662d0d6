//! The house itself: rooms use only the rooms above them, sources stay plain.

use std::path::{Path, PathBuf};

/// The rooms in their order: each may use only those before it.
const ROOMS: [&str; 13] = [
    "source", "physics", "findings", "syntax", "words", "plan", "run", "forecast", "rules", "archive", "pages",
    "server", "cli",
];

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn src() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// The rooms that a source names in paths from the crate's root, with the line.
fn named(text: &str) -> Vec<(usize, String)> {
    let mut named = Vec::new();
    for (line, code) in text.lines().enumerate().filter(|(_, code)| !code.trim_start().starts_with("//")) {
        for rest in code.split("crate::").skip(1) {
            let names = rest.strip_prefix('{').map_or(rest, |list| list.split('}').next().unwrap_or(list));
            let names = if rest.starts_with('{') { names.split(',').collect() } else { vec![names] };
            for name in names {
                let word = name.trim().split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap_or("");
                named.push((line + 1, word.to_owned()));
            }
        }
    }
    named
}

#[test]
fn rooms_use_only_rooms_above_them() {
    let mut wrong = Vec::new();
    for (order, room) in ROOMS.iter().enumerate() {
        let folder = src().join(room);
        for file in sources(&folder) {
            for (line, name) in named(&std::fs::read_to_string(&file).unwrap()) {
                if ROOMS.iter().position(|other| *other == name).is_some_and(|used| used > order) {
                    wrong.push(format!("{}:{line}: {room} uses {name}", file.display()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_rooms_are_all_there_is() {
    let mut found: Vec<String> = std::fs::read_dir(src())
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.path().is_dir())
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    let mut rooms: Vec<String> = ROOMS.iter().map(|room| (*room).to_owned()).collect();
    found.sort();
    rooms.sort();
    assert_eq!(found, rooms);
}

#[test]
fn the_order_is_noticed_when_broken() {
    assert_eq!(
        named("use crate::{rules, words::Key};\nlet x = crate::cli::run();\n// crate::server"),
        [(1, "rules".to_owned()), (1, "words".to_owned()), (2, "cli".to_owned())]
    );
}
