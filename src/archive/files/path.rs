//! Paths in an archive: what a file's word for another means, and where it must stop.

use crate::source::FileId;

/// Why a path names no file that may be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::archive) enum Stray {
    /// It is absolute.
    Absolute,
    /// It leads out of the root.
    Outside,
    /// It is written with `\`.
    Backslash,
    /// It names a folder, or nothing.
    NoFile,
}

impl Stray {
    /// The defect in words that follow on a path.
    pub(crate) fn message(self) -> &'static str {
        match self {
            Stray::Absolute => "is an absolute path; a path here is relative to the file that says it",
            Stray::Outside => "leads out of the archive's root, where nothing is read",
            Stray::Backslash => "is written with `\\`; the parts of a path are parted with `/` on every system",
            Stray::NoFile => "names no file",
        }
    }
}

/// The file that `path` means when `from` says it. It must lie in the folder `confine`, a path from the archive's
/// root that is empty for the root itself.
pub(in crate::archive) fn resolve(from: &FileId, path: &str, confine: &str) -> Result<FileId, Stray> {
    if path.contains('\\') {
        return Err(Stray::Backslash);
    }
    let mut letters = path.chars();
    let drive = letters.next().is_some_and(|c| c.is_ascii_alphabetic()) && letters.next() == Some(':');
    if path.starts_with('/') || drive {
        return Err(Stray::Absolute);
    }
    let mut parts: Vec<&str> = folder_of(from.as_str()).split('/').filter(|part| !part.is_empty()).collect();
    for part in path.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                if parts.pop().is_none() {
                    return Err(Stray::Outside);
                }
            }
            part => parts.push(part),
        }
    }
    if path.is_empty() || path.ends_with('/') || path.contains('\0') || parts.is_empty() {
        return Err(Stray::NoFile);
    }
    let file = FileId::new(parts.join("/"));
    if is_below(file.as_str(), confine) { Ok(file) } else { Err(Stray::Outside) }
}

/// The folder that holds a file, as a path from the root; empty for the root itself.
pub(in crate::archive) fn folder_of(file: &str) -> &str {
    file.rfind('/').map_or("", |at| &file[..at])
}

/// Whether a file lies in a folder, at any depth.
pub(in crate::archive) fn is_below(file: &str, folder: &str) -> bool {
    folder.is_empty() || file.strip_prefix(folder).is_some_and(|rest| rest.starts_with('/'))
}

/// The path that `from` would write to name `to`.
pub(crate) fn relative(from: &FileId, to: &FileId) -> String {
    let here: Vec<&str> = folder_of(from.as_str()).split('/').filter(|part| !part.is_empty()).collect();
    let there: Vec<&str> = to.as_str().split('/').collect();
    let folders = there.len().saturating_sub(1);
    let shared = here.iter().zip(&there[..folders]).take_while(|(a, b)| a == b).count();
    let mut path: Vec<&str> = vec![".."; here.len() - shared];
    path.extend(&there[shared..]);
    path.join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn resolved(from: &str, path: &str) -> Result<String, Stray> {
        resolve(&FileId::new(from), path, "").map(|file| file.as_str().to_owned())
    }

    #[test]
    fn paths_are_relative_to_the_file_that_says_them() {
        assert_eq!(resolved("plans/a.plan.kdl", "../kit/units.kit.kdl").as_deref(), Ok("kit/units.kit.kdl"));
        assert_eq!(resolved("a.plan.kdl", "./kit//units.kit.kdl").as_deref(), Ok("kit/units.kit.kdl"));
        assert_eq!(resolved("a/b/c.plan.kdl", "d/../../e.kit.kdl").as_deref(), Ok("a/e.kit.kdl"));
    }

    #[test]
    fn nothing_leads_out_of_the_root() {
        assert_eq!(resolved("plans/a.plan.kdl", "../../secret.kit.kdl"), Err(Stray::Outside));
        assert_eq!(resolved("plans/a.plan.kdl", "../../plans/b.kit.kdl"), Err(Stray::Outside));
        assert_eq!(resolved("a.plan.kdl", "/etc/passwd"), Err(Stray::Absolute));
        assert_eq!(resolved("a.plan.kdl", "c:/kit.kit.kdl"), Err(Stray::Absolute));
        assert_eq!(resolved("a.plan.kdl", "..\\..\\x.kit.kdl"), Err(Stray::Backslash));
        let inner = resolve(&FileId::new("club/plans/a.plan.kdl"), "../../other/x.kit.kdl", "club");
        assert_eq!(inner, Err(Stray::Outside));
        assert!(!is_below("clubs/x.kit.kdl", "club"));
    }

    #[test]
    fn what_names_no_file_is_said() {
        for path in ["", "..", "kit/", "x\0y"] {
            assert!(resolved("plans/a.plan.kdl", path).is_err(), "{path:?}");
        }
        assert_eq!(resolved("a.plan.kdl", "é:x.kit.kdl").as_deref(), Ok("é:x.kit.kdl"));
    }

    #[test]
    fn a_relative_path_resolves_to_what_it_was_made_from() {
        let files = ["a.plan.kdl", "x/b.kit.kdl", "x/y/c.kit.kdl", "z/d.kit.kdl"];
        for from in files.map(FileId::new) {
            for to in files.map(FileId::new) {
                assert_eq!(resolve(&from, &relative(&from, &to), ""), Ok(to.clone()), "{from} to {to}");
            }
        }
    }
}
