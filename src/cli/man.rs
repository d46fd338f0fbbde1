//! `endtank man`: the manual page, from the command line's own definitions.

use std::fmt::Write as _;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use clap::{Args, Command, CommandFactory};
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};

use super::new_files::{self, exists, is_taken};
use super::terminal::Terminal;
use super::{Cli, Status};
use crate::report::html::SAFETY;

/// Print the manual page, or write pages into a folder
///
/// Printed is one page with all commands. With --folder it is written as endtank.1, with a page beside it for each command,
/// for instance endtank-compare.1. Files that exist are never replaced.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Write the pages into this folder, made where it is not there, rather than print.
    #[arg(long, value_name = "DIR")]
    folder: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    let pages = match pages() {
        Ok(pages) => pages,
        Err(error) => {
            return terminal.failure(
                &format!("the manual page cannot be put together: {error}"),
                "read `endtank help` instead",
            );
        }
    };
    match &arguments.folder {
        Some(folder) => write(&pages, folder, terminal),
        None => {
            if let Some((_, page)) = pages.first() {
                // A reader that has gone away is not an error.
                let _ = io::stdout().lock().write_all(page.as_bytes());
            }
            Status::Done
        }
    }
}

/// Writes all pages, or none where one exists.
fn write(pages: &[(String, String)], folder: &Path, terminal: &Terminal) -> Status {
    const OPTION: &str = "--folder";
    let files: Vec<(PathBuf, Vec<u8>)> = pages
        .iter()
        .map(|(name, page)| (folder.join(name), page.clone().into_bytes()))
        .collect();
    let taken = files.iter().filter(|(target, _)| is_taken(target));
    let mut troubles: Vec<_> = taken.map(|(target, _)| exists(target, OPTION)).collect();
    if troubles.is_empty() {
        troubles.extend(new_files::store(&files, folder, OPTION).err());
    }
    for (what, mend) in &troubles {
        terminal.failure(what, mend);
    }
    if !troubles.is_empty() {
        return Status::Failed;
    }
    for (target, _) in &files {
        terminal.print(&format!("{}\n", target.display()));
    }
    Status::Done
}

/// All pages by file name, that of the whole program first.
fn pages() -> io::Result<Vec<(String, String)>> {
    let mut program = Cli::command().disable_help_subcommand(true);
    program.build();
    let mut pages = vec![("endtank.1".to_owned(), whole(&program)?)];
    for command in program.get_subcommands() {
        let name = format!("endtank-{}", command.get_name());
        pages.push((format!("{name}.1"), of_command(command, &name)?));
    }
    Ok(pages)
}

/// The page of the whole program, with all commands.
fn whole(program: &Command) -> io::Result<String> {
    let man = Man::new(program.clone()).manual("endtank");
    let mut page = text(|to| man.render_title(to))?;
    page += &text(|to| man.render_name_section(to))?;
    page += &text(|to| man.render_synopsis_section(to))?;
    page += &text(|to| man.render_description_section(to))?;
    page += &text(|to| man.render_options_section(to))?;
    page.push_str(".SH COMMANDS\n");
    for command in program.get_subcommands() {
        // Writing to a String cannot fail.
        let _ = writeln!(page, ".SS \"endtank {}\"", command.get_name());
        let man = Man::new(command.clone());
        page += &inner(&text(|to| man.render_synopsis_section(to))?);
        page.push_str(".PP\n");
        page += &inner(&text(|to| man.render_description_section(to))?);
        page += &inner(&text(|to| man.render_options_section(to))?);
    }
    page += &around();
    page += &text(|to| man.render_version_section(to))?;
    Ok(in_ascii(&page))
}

/// The page of one command.
fn of_command(command: &Command, name: &str) -> io::Result<String> {
    let man = Man::new(command.clone()).title(name).manual("endtank");
    let mut page = text(|to| man.render_title(to))?;
    page += &text(|to| man.render_name_section(to))?;
    page += &text(|to| man.render_synopsis_section(to))?;
    page += &text(|to| man.render_description_section(to))?;
    page += &text(|to| man.render_options_section(to))?;
    let mut rest = Roff::new();
    statuses(&mut rest);
    rest.control("SH", ["SEE ALSO"]);
    rest.text([bold("endtank"), roman("(1)")]);
    page += &rest.to_roff();
    Ok(in_ascii(&page))
}

fn text(render: impl Fn(&mut dyn io::Write) -> io::Result<()>) -> io::Result<String> {
    let mut bytes = Vec::new();
    render(&mut bytes)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// A section of a command's own page as part of another section: its heading goes, or becomes a paragraph of its own.
fn inner(section: &str) -> String {
    let mut page = String::new();
    for line in section.lines() {
        match line.strip_prefix(".SH ") {
            Some("SYNOPSIS" | "DESCRIPTION" | "OPTIONS") => {}
            // Writing to a String cannot fail.
            Some(heading) => drop(writeln!(page, ".PP\n.B {heading}")),
            None => drop(writeln!(page, "{line}")),
        }
    }
    page
}

/// What the definitions of the command line do not hold: examples, files, exit status, safety.
fn around() -> String {
    let mut page = Roff::new();
    page.control("SH", ["EXAMPLES"]);
    for (does, types) in EXAMPLES {
        page.control("TP", []);
        page.text([roman(does)]);
        page.text([bold(types)]);
    }
    page.control("SH", ["FILES"]);
    for (file, holds) in FILES {
        page.control("TP", []);
        page.text([bold(file)]);
        page.text([roman(holds)]);
    }
    statuses(&mut page);
    page.control("SH", ["SAFETY"]);
    for rule in SAFETY {
        page.control("IP", ["\u{2022}", "2"]);
        page.text([roman(rule)]);
    }
    page.to_roff()
}

const EXAMPLES: [(&str, &str); 6] = [
    (
        "Write the sample session into a new folder and compare its two coolers:",
        "endtank demo tow-truck && endtank compare tow-truck/session.toml",
    ),
    (
        "Begin a session of your own from a folder of pictures:",
        "endtank new pictures",
    ),
    (
        "List everything that is wrong or still to fill in:",
        "endtank check pictures/session.toml",
    ),
    (
        "Compare, and tell where the doubt comes from:",
        "endtank compare pictures/session.toml --budget",
    ),
    (
        "Explain a preset and what it rests on:",
        "endtank surfaces plastic-black",
    ),
    (
        "See before measuring whether a difference could be told:",
        "endtank plan session.toml",
    ),
];

const FILES: [(&str, &str); 3] = [
    (
        "session.toml",
        "One comparison, kept beside its pictures: coolers, surfaces, instruments, runs, and where to read in each picture. It \
         is never changed; endtank new writes a first one.",
    ),
    (
        "SESSION-results/",
        "What endtank compare writes beside the session, all of it or nothing: report.html and report.md, readings.csv, \
         comparison.csv, results.json, side-by-side.png, and a picture with its regions marked for each snapshot in annotated/.",
    ),
    (
        "PICTURE-grid.png",
        "A picture with pixel coordinates along its edges, to read regions off; written by endtank new and endtank read --grid.",
    ),
];

const STATUSES: [(&str, &str); 3] = [
    ("0", "Done."),
    (
        "1",
        "The input is wrong or a file failed; nothing was written.",
    ),
    ("2", "The command line is wrong."),
];

fn statuses(page: &mut Roff) {
    page.control("SH", ["EXIT STATUS"]);
    for (status, meaning) in STATUSES {
        page.control("TP", []);
        page.text([bold(status)]);
        page.text([roman(meaning)]);
    }
}

/// Every other letter by its number, so that the page reads the same whatever coding the reader takes it for.
fn in_ascii(page: &str) -> String {
    let mut ascii = String::new();
    for letter in page.chars() {
        if letter.is_ascii() {
            ascii.push(letter);
        } else {
            // Writing to a String cannot fail.
            let _ = write!(ascii, "\\[u{:04X}]", u32::from(letter));
        }
    }
    ascii
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a reader sees of a page, without its marks.
    fn plain(page: &str) -> String {
        let mut plain = page.replace("\\-", "-");
        for quote in ["\\*(Aq", "\\(aq", "\\[aq]", "\\\'"] {
            plain = plain.replace(quote, "'");
        }
        for mark in ["\\fB", "\\fI", "\\fR", "\\fP"] {
            plain = plain.replace(mark, "");
        }
        plain
    }

    fn has_all_of(page: &str, command: &Command) {
        let page = plain(page);
        for argument in command
            .get_arguments()
            .filter(|argument| !argument.is_hide_set())
        {
            let name = match argument.get_long() {
                Some(long) => format!("--{long}"),
                None => argument.get_value_names().unwrap()[0].to_string(),
            };
            assert!(page.contains(&name), "{}: {name}", command.get_name());
            // What clap words itself changes with the command.
            if ["help", "version"].contains(&argument.get_id().as_str()) {
                continue;
            }
            let help = argument.get_help().unwrap().to_string();
            let first = in_ascii(help.lines().next().unwrap());
            assert!(page.contains(&first), "{}: {first}", command.get_name());
        }
    }

    #[test]
    fn every_command_and_option_is_in_the_pages() {
        let pages = pages().unwrap();
        let mut program = Cli::command().disable_help_subcommand(true);
        program.build();
        let whole = &pages[0].1;
        has_all_of(whole, &program);
        let mut count = 1;
        for command in program.get_subcommands() {
            let name = format!("endtank-{}.1", command.get_name());
            let page = &pages.iter().find(|(known, _)| *known == name).unwrap().1;
            has_all_of(page, command);
            let (_, part) = whole
                .split_once(&format!(".SS \"endtank {}\"\n", command.get_name()))
                .unwrap();
            has_all_of(part.split("\n.SS ").next().unwrap(), command);
            count += 1;
        }
        assert_eq!(pages.len(), count);
    }

    #[test]
    fn the_page_has_its_sections_once_and_no_letter_beyond_ascii() {
        let pages = pages().unwrap();
        let sections: Vec<&str> = pages[0]
            .1
            .lines()
            .filter_map(|line| line.strip_prefix(".SH "))
            .map(|heading| heading.trim_matches('"'))
            .collect();
        assert_eq!(
            sections,
            [
                "NAME",
                "SYNOPSIS",
                "DESCRIPTION",
                "OPTIONS",
                "COMMANDS",
                "EXAMPLES",
                "FILES",
                "EXIT STATUS",
                "SAFETY",
                "VERSION"
            ]
        );
        assert!(pages.iter().all(|(_, page)| page.is_ascii()));
    }
}
