//! Writes a made club's archive into a folder, to measure whole commands over: `cargo bench --bench make_club -- PLANS
//! FOLDER`.
#![allow(missing_docs, clippy::unwrap_used)]

mod club;

use std::path::Path;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).filter(|arg| !arg.starts_with("--")).collect();
    let [plans, folder] = &args[..] else {
        eprintln!("say how many plans, and the folder to write them into");
        return;
    };
    let plans = plans.parse().unwrap();
    let club = club::Club { plans, seed: 1, flawed_percent: 3, ready: plans / 100 };
    for (path, text) in club.files() {
        let path = Path::new(folder).join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
}
