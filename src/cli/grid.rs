//! `endtank grid`: pictures with pixel coordinates, to read regions off.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use tempfile::NamedTempFile;

use super::Status;
use super::terminal::Terminal;
use crate::load::{self, Wanted};
use crate::picture;
use crate::session::Pixels;
use crate::units::{self, Dimension};

/// Draw pictures with pixel coordinates, to read regions off
///
/// Writes PICTURE-grid.png for each picture: in colour, with coordinates along all edges, and the scale in °C. The
/// coordinates are those of a session's regions: x to the right, y downward, from the top left. Files that exist are not
/// replaced, and nothing is written unless every picture can be drawn.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The pictures.
    #[arg(required = true, value_name = "PICTURE")]
    pictures: Vec<PathBuf>,
    /// The folder to write into; default: the working folder.
    #[arg(
        long,
        value_name = "DIR",
        default_value = ".",
        hide_default_value = true
    )]
    out: PathBuf,
    /// The pixels are temperatures in this unit: °C, °F or K.
    #[arg(long, value_name = "U", value_parser = unit, conflicts_with_all = ["pixels_step", "pixels_zero"])]
    pixels_unit: Option<Linear>,
    /// The pixels are counts of this step, such as "0.01 K".
    #[arg(long, value_name = "S", value_parser = step)]
    pixels_step: Option<f64>,
    /// The temperature at count 0; default 0 K.
    #[arg(long, value_name = "Z", value_parser = zero, requires = "pixels_step", allow_hyphen_values = true)]
    pixels_zero: Option<f64>,
}

/// Kelvin a count, and kelvin at count 0.
#[derive(Debug, Clone, Copy)]
struct Linear {
    step: f64,
    zero: f64,
}

impl Arguments {
    /// What the numbers mean, where it was said.
    fn pixels(&self) -> Option<Pixels> {
        let counts = self.pixels_step.map(|step| Linear {
            step,
            zero: self.pixels_zero.unwrap_or(0.0),
        });
        let Linear { step, zero } = self.pixels_unit.or(counts)?;
        Some(Pixels::Linear { step, zero })
    }
}

/// A setting without limits, in kelvin.
fn exact(text: &str, dimension: Dimension) -> Result<f64, String> {
    let parsed = units::parse(text, dimension)
        .map_err(|unreadable| format!("{}; {}", unreadable.what, unreadable.mend))?;
    if parsed.limits_stated {
        return Err("this is a setting: leave its limits out".to_owned());
    }
    Ok(parsed.value)
}

fn unit(text: &str) -> Result<Linear, String> {
    let step = exact(&format!("1 {text}"), Dimension::TemperatureDifference);
    let zero = exact(&format!("0 {text}"), Dimension::Temperature);
    match (step, zero) {
        (Ok(step), Ok(zero)) => Ok(Linear { step, zero }),
        _ => Err("no unit of temperature: write °C, °F or K".to_owned()),
    }
}

fn step(text: &str) -> Result<f64, String> {
    let step = exact(text, Dimension::TemperatureDifference)?;
    if step > 0.0 {
        Ok(step)
    } else {
        Err("a step must be above zero, such as \"0.01 K\"".to_owned())
    }
}

fn zero(text: &str) -> Result<f64, String> {
    exact(text, Dimension::Temperature)
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    let pixels = arguments.pixels();
    write(
        &arguments.pictures,
        pixels.as_ref(),
        &arguments.out,
        terminal,
    )
}

/// What is wrong, and what to do.
type Trouble = (String, String);

/// Draws each picture with its coordinates and writes `STEM-grid.png` into a folder, made where it is not there: all of
/// them, or none and every problem printed.
///
/// `pixels` says what the stored numbers mean; without it that is told from the numbers where it can be.
pub(super) fn write(
    pictures: &[PathBuf],
    pixels: Option<&Pixels>,
    out: &Path,
    terminal: &Terminal,
) -> Status {
    let (mut troubles, mut drawings) = (Vec::new(), Vec::new());
    let mut taken: BTreeMap<PathBuf, &Path> = BTreeMap::new();
    for path in pictures {
        let target = target(path, out);
        match taken.insert(target.clone(), path) {
            Some(other) => troubles.push((
                format!(
                    "{} and {} would both be written as {}",
                    other.display(),
                    path.display(),
                    target.display()
                ),
                "draw them one at a time, each with its own --out".to_owned(),
            )),
            None if fs::symlink_metadata(&target).is_ok() => troubles.push(exists(&target)),
            None => {}
        }
        match drawn(path, pixels) {
            Ok(bytes) => drawings.push((target, bytes)),
            Err(trouble) => troubles.push(trouble),
        }
    }
    if troubles.is_empty()
        && let Err(trouble) = store(&drawings, out)
    {
        troubles.push(trouble);
    }
    for (what, mend) in &troubles {
        terminal.failure(what, mend);
    }
    if !troubles.is_empty() {
        return Status::Failed;
    }
    for (target, _) in &drawings {
        terminal.print(&format!("{}\n", target.display()));
    }
    Status::Done
}

/// `STEM-grid.png` in a folder.
fn target(picture: &Path, out: &Path) -> PathBuf {
    let mut name: OsString = picture.file_stem().unwrap_or_default().to_owned();
    name.push("-grid.png");
    if out == Path::new(".") {
        return name.into();
    }
    out.join(name)
}

fn exists(target: &Path) -> Trouble {
    (
        format!("{} exists already", target.display()),
        "move it away, or name another folder with --out".to_owned(),
    )
}

/// A picture's drawing, as PNG.
fn drawn(path: &Path, pixels: Option<&Pixels>) -> Result<Vec<u8>, Trouble> {
    let bytes = bytes_of(path)?;
    let wanted = Wanted {
        pixels,
        ..Wanted::default()
    };
    let image = load::read(&bytes, wanted).map_err(|error| {
        let mut mend = error.mend;
        if mend.contains("pixels = ") {
            mend.push_str(" Here that is --pixels-unit U, or --pixels-step S --pixels-zero Z.");
        }
        (format!("{}: {}", path.display(), error.what), mend)
    })?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    picture::grid(&image, &name).map_err(|error| {
        let what = format!("{}: {error}", path.display());
        (what, "check which file this is".to_owned())
    })
}

/// A file's bytes, up to the most that a picture may have.
fn bytes_of(path: &Path) -> Result<Vec<u8>, Trouble> {
    let unreadable = |error: std::io::Error| {
        (
            format!("{} cannot be read: {error}", path.display()),
            "check that the file is there and that you may read it".to_owned(),
        )
    };
    let file = File::open(path).map_err(unreadable)?;
    let mut bytes = Vec::new();
    // One byte more than the limit tells a file that is too large, also where the file system does not know its size.
    file.take(load::MAX_BYTES as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(unreadable)?;
    if bytes.len() > load::MAX_BYTES {
        return Err((
            format!("{} is larger than 1 GiB", path.display()),
            "a thermal picture is far smaller: check which file this is".to_owned(),
        ));
    }
    Ok(bytes)
}

/// Writes all drawings beside their places, then gives them their names; takes back what was named if one fails.
fn store(drawings: &[(PathBuf, Vec<u8>)], out: &Path) -> Result<(), Trouble> {
    let failed = |error: std::io::Error| {
        (
            format!("{} cannot be written into: {error}", out.display()),
            "check the folder and its free space, or name another with --out".to_owned(),
        )
    };
    fs::create_dir_all(out).map_err(failed)?;
    let mut ready = Vec::new();
    for (target, bytes) in drawings {
        let mut file = hidden(out).map_err(failed)?;
        file.write_all(bytes).map_err(failed)?;
        ready.push((file, target));
    }
    let mut named: Vec<&Path> = Vec::new();
    for (file, target) in ready {
        if let Err(error) = file.persist_noclobber(target) {
            for path in named {
                // Nothing more can be done about a file that cannot be taken back.
                let _ = fs::remove_file(path);
            }
            return Err(if error.error.kind() == std::io::ErrorKind::AlreadyExists {
                exists(target)
            } else {
                failed(error.error)
            });
        }
        named.push(target);
    }
    Ok(())
}

/// A hidden file in a folder, with the permissions of any new file.
fn hidden(folder: &Path) -> std::io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".endtank-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}
