//! `leadsman new`: a plan begun from a template.

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use clap::Args;
use jiff::civil::Date;

use super::store;
use super::terminal::{complain, ended};
use crate::archive::{Archive, Change, Disk, relative};
use crate::pages::new_plan::NewPlan;
use crate::source::{FileId, Text};
use crate::words::FileKind;

/// Begin a plan from a template, what is still to be said marked in it
///
/// The plan starts from the template (`from=`), so that what the template says holds until the plan says otherwise. It is a
/// draft; `leadsman check` names what it leaves open.
///
/// Exit status: 0 when the plan is written, 2 when it could not be.
#[derive(Debug, Args)]
#[command(after_help = crate::CAUTION)]
pub(super) struct New {
    /// The template: a plan file
    #[arg(value_name = "TEMPLATE")]
    template: PathBuf,
    /// The day of the plan, such as 2027-05-15
    #[arg(long, value_name = "DATE")]
    on: Date,
    /// The plan's name; the template's if none is given
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// The file to write, which must not be there yet; standard output if none is given
    ///
    /// On standard output paths are written for a file of the current folder.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

impl New {
    /// Writes the plan.
    pub(super) fn run(&self) -> ExitCode {
        ended(self.written().map(|()| ExitCode::SUCCESS))
    }

    fn written(&self) -> io::Result<()> {
        let here = super::terminal::here()?;
        let template = here.join(&self.template);
        let archive = Archive::open(Arc::new(Disk), &Archive::root_of(&Disk, &template));
        let from = self.inside(&archive, &template, &self.template)?;
        let meant = archive.text(&from).map(|_| archive.plan(&from)).map_err(|error| wrong(error.to_string()))?;
        let Some(meant) = meant.filter(|_| archive.kind(&from) == FileKind::Plan) else {
            return Err(wrong(format!("{}: holds no plan to start from", self.template.display())));
        };
        let file = match &self.out {
            Some(out) => {
                let file = self.inside(&archive, &here.join(out), out)?;
                if FileKind::of_name(file.as_str().rsplit('/').next().unwrap_or_default()) != Some(FileKind::Plan) {
                    return Err(wrong(format!("{}: a plan's file is named *.plan.kdl", out.display())));
                }
                file
            }
            // A name that nothing on disk has: only its folder matters.
            None => self.inside(&archive, &here.join("-.plan.kdl"), Path::new("the current folder"))?,
        };
        let from = relative(&file, &from);
        let name = self.name.as_deref().unwrap_or(&meant.name.value);
        let new = NewPlan { name, from: &from, on: self.on };
        let begun = archive.with(&[Change::Open(file.clone(), Text::new(new.bare()))]);
        let plan = begun.plan(&file).ok_or_else(|| wrong("the plan does not read".to_owned()))?;
        let text = new.text(&plan);
        match &self.out {
            Some(out) => {
                // Never over what is there.
                store::create(&archive.path_of(&file), archive.root(), &text)
                    .map_err(|refused| wrong(format!("{}: {refused}", out.display())))?;
            }
            None => io::stdout().lock().write_all(text.as_bytes())?,
        }
        let open = plan.gaps().len();
        complain(match open {
            1 => "1 thing is still to be said".to_owned(),
            open => format!("{open} things are still to be said"),
        });
        complain(crate::CAUTION);
        Ok(())
    }

    fn inside(&self, archive: &Archive, path: &Path, said: &Path) -> io::Result<FileId> {
        archive.id_of(path).ok_or_else(|| {
            wrong(format!("{}: lies outside the archive of {}", said.display(), self.template.display()))
        })
    }
}

fn wrong(message: String) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidInput, message)
}
