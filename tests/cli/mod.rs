//! The command, run as a user runs it.

mod accept;
mod bounds;
mod cache;
mod check;
mod examples;
mod fix;
mod format;
mod formats;
mod hostile;
mod init;
mod new;
mod odd_files;
mod one_fact;
mod options;
mod picture;
mod rules;
mod settings;
mod since;
mod stops;
mod track;
mod waivers;
#[cfg(unix)]
mod writing;

use std::ffi::OsStr;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use leadsman::CAUTION;

/// A whole small plan on one line, its day as it is written.
macro_rules! whole {
    ($day:literal) => {
        concat!(
            "plan \"Shelf\" on=",
            $day,
            " status=draft { site \"Greyfen quarry\" altitude=210 temperature=12; limits { gradient low=45 high=80; reserve 50; }; ",
            "dive \"one\" { descend 12; stay 20 work=light; ascend; diver \"Rowan\" back=\"S15-02\"; }; }; ",
            "diver \"Rowan\" { trained kind=open depth=39 deco=10 on=\"2022-06-11\"; gas rest=16 peak=60; fit until=\"2027-12-31\"; }; ",
            "cylinder \"S15-02\" size=15 working=232 { fill 220 on=\"2027-05-14\" by=\"Ines\" o2=32 analysed=31.9; test due=\"2030-01-01\"; }\n",
        )
    };
}

/// A plan that nothing is said of, whatever else is there.
pub const GOOD: &str = whole!("\"2027-05-15\"");
/// A plan with one error that has a safe fix.
pub const DATE: &str = whole!("2027-05-15");

/// A folder with some files that is an archive of its own.
pub struct Folder {
    folder: tempfile::TempDir,
}

impl Folder {
    pub fn new(files: &[(&str, &str)]) -> Folder {
        let made = Folder { folder: tempfile::tempdir().unwrap() };
        made.write("leadsman.kdl", "");
        for (name, text) in files {
            made.write(name, text);
        }
        made
    }

    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        let path = self.path(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }

    pub fn read(&self, name: &str) -> Vec<u8> {
        std::fs::read(self.path(name)).unwrap()
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn root(&self) -> &Path {
        self.folder.path()
    }

    /// Runs the command here.
    pub fn run(&self, args: &[&str]) -> Ran {
        Ran::of(leadsman(self.root()).args(args).output().unwrap())
    }

    /// Runs the command here with something on standard input.
    pub fn run_with(&self, args: &[&str], input: &[u8]) -> Ran {
        let mut command = leadsman(self.root());
        command.args(args).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let mut stdin = child.stdin.take().unwrap();
        let input = input.to_vec();
        // It may refuse before it has read everything.
        let writer = std::thread::spawn(move || drop(stdin.write_all(&input)));
        let output = child.wait_with_output().unwrap();
        writer.join().unwrap();
        Ran::of(output)
    }
}

/// The command, in a folder, with nothing of the environment that it heeds.
pub fn leadsman(folder: impl AsRef<Path>) -> Command {
    let mut command = Command::new(OsStr::new(env!("CARGO_BIN_EXE_leadsman")));
    command
        .current_dir(folder)
        .env_remove("NO_COLOR")
        .env_remove("LC_ALL")
        .env_remove("LC_CTYPE")
        .env_remove("LANG")
        .env("XDG_CACHE_HOME", cache_home())
        .env("TERM", "xterm-256color")
        .stdin(Stdio::null());
    command
}

/// Where the commands of this test run keep what they found, out of the user's way.
fn cache_home() -> &'static Path {
    static HOME: std::sync::LazyLock<tempfile::TempDir> = std::sync::LazyLock::new(|| tempfile::tempdir().unwrap());
    HOME.path()
}

/// What came of a run.
#[derive(Debug)]
pub struct Ran {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Ran {
    pub fn of(output: Output) -> Ran {
        let text = |bytes| String::from_utf8(bytes).unwrap();
        Ran { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
    }

    /// The output with its lines joined, so that where they were broken doesn't matter.
    pub fn joined(&self) -> String {
        self.out.split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// Holds that a page says what every page must and nothing that none may.
pub fn is_honest(ran: &Ran) {
    assert!(ran.joined().contains(CAUTION), "{ran:?}");
    for word in ["OK", "passed", "clean", "all good", "no problems"] {
        assert!(!ran.out.contains(word), "says {word:?}: {ran:?}");
    }
}
