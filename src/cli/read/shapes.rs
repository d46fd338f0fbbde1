//! Shapes on the command line, kept in the order they are written in.

use clap::{Arg, ArgAction, ArgGroup, ArgMatches, Command, FromArgMatches};

/// One shape as it was asked for.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Outline {
    /// Its option without dashes, which is what its region is called.
    pub option: &'static str,
    /// The key and value of a region in a session.
    pub entry: String,
}

/// All shapes of the command line.
#[derive(Debug, Clone, Default)]
pub(super) struct Shapes(pub Vec<Outline>);

/// An option, what its value looks like, what it means, and what makes a region of it.
type Kind = (
    &'static str,
    &'static str,
    &'static str,
    fn(&str) -> Result<Outline, String>,
);

const KINDS: [Kind; 7] = [
    (
        "rectangle",
        "X,Y,W,H",
        "A rectangle by its left, top, width and height in pixels; as all shapes, may be repeated",
        |text| {
            numbers::<4>(text).map(|[x, y, w, h]| of("rectangle", format!("[{x}, {y}, {w}, {h}]")))
        },
    ),
    ("polygon", "X,Y,X,Y,…", "A polygon by its corners", polygon),
    (
        "circle",
        "X,Y,R",
        "A circle by its centre and radius",
        |text| numbers::<3>(text).map(|[x, y, r]| of("circle", format!("[{x}, {y}, {r}]"))),
    ),
    (
        "ellipse",
        "X,Y,RX,RY",
        "An ellipse by its centre and half axes",
        |text| {
            numbers::<4>(text).map(|[x, y, a, b]| of("ellipse", format!("[{x}, {y}, {a}, {b}]")))
        },
    ),
    (
        "line",
        "X,Y,X,Y",
        "The pixels that a line between two points crosses",
        |text| {
            numbers::<4>(text).map(|[x, y, u, v]| of("line", format!("[[{x}, {y}], [{u}, {v}]]")))
        },
    ),
    ("point", "X,Y", "The 3 × 3 pixels around a point", |text| {
        numbers::<2>(text).map(|[x, y]| of("point", format!("[{x}, {y}]")))
    }),
    ("at", "X,Y", "One pixel", |text| {
        let [x, y] = numbers::<2>(text)?.map(|number| number.value().floor());
        Ok(Outline {
            option: "at",
            entry: format!("rectangle = [{x:?}, {y:?}, 1, 1]"),
        })
    }),
];

fn of(option: &'static str, value: String) -> Outline {
    Outline {
        option,
        entry: format!("{option} = {value}"),
    }
}

/// A finite number, which is written as TOML writes one.
#[derive(Debug, Clone, Copy)]
struct Number(f64);

impl Number {
    const fn value(self) -> f64 {
        self.0
    }
}

impl std::fmt::Display for Number {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // The debugging form always has a point or an exponent, as a TOML float must.
        write!(f, "{:?}", self.0)
    }
}

fn list(text: &str) -> Result<Vec<Number>, String> {
    let number = |part: &str| {
        let part = part.trim();
        let read = part.parse::<f64>().ok().filter(|number| number.is_finite());
        read.map(Number)
            .ok_or_else(|| format!("`{part}` is no number"))
    };
    text.split(',').map(number).collect()
}

fn numbers<const N: usize>(text: &str) -> Result<[Number; N], String> {
    let list = list(text)?;
    let count = list.len();
    list.try_into()
        .map_err(|_| format!("{count} numbers instead of {N}, separated by commas"))
}

fn polygon(text: &str) -> Result<Outline, String> {
    let list = list(text)?;
    if list.len() < 6 || !list.len().is_multiple_of(2) {
        let count = list.len();
        return Err(format!(
            "{count} numbers: give x and y of at least three corners, separated by commas"
        ));
    }
    let corners: Vec<String> = list
        .chunks_exact(2)
        .map(|corner| match corner {
            [x, y] => format!("[{x}, {y}]"),
            _ => String::new(),
        })
        .collect();
    Ok(of("polygon", format!("[{}]", corners.join(", "))))
}

/// The box of a colour bar, or that it is to be found, as TOML.
pub(super) fn colour_bar(text: &str) -> Result<String, String> {
    if text == "find" {
        return Ok("\"find\"".to_owned());
    }
    let [x, y, width, height] =
        numbers::<4>(text).map_err(|error| format!("{error}; or write find"))?;
    Ok(format!("[{x}, {y}, {width}, {height}]"))
}

/// A number printed in a palette picture and the pixel it stands for.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PrintedNumber {
    /// The pixel, as TOML.
    pub at: String,
    /// The number with its unit, as it was written.
    pub reading: String,
}

/// A pixel and the temperature printed for it, separated by commas.
pub(super) fn printed(text: &str) -> Result<PrintedNumber, String> {
    let mut parts = text.splitn(3, ',');
    let (Some(x), Some(y), Some(reading)) = (parts.next(), parts.next(), parts.next()) else {
        return Err("x, y and the printed temperature, separated by commas".to_owned());
    };
    let [x, y] = numbers::<2>(&format!("{x},{y}"))?;
    Ok(PrintedNumber {
        at: format!("[{x}, {y}]"),
        reading: reading.trim().to_owned(),
    })
}

/// Three constants, separated by commas.
pub(super) fn constants(text: &str) -> Result<[f64; 3], String> {
    numbers::<3>(text).map(|numbers| numbers.map(Number::value))
}

impl clap::Args for Shapes {
    fn augment_args(command: Command) -> Command {
        // A picture needs a shape, or nothing but its grid.
        let group = ArgGroup::new("shapes")
            .args(KINDS.map(|(option, ..)| option))
            .arg("grid")
            .multiple(true);
        KINDS
            .iter()
            .fold(command, |command, &(option, value, help, parse)| {
                let arg = Arg::new(option)
                    .long(option)
                    .value_name(value)
                    .help(help)
                    .help_heading("Shapes")
                    .action(ArgAction::Append)
                    .allow_hyphen_values(true)
                    .conflicts_with_all(["pistol", "grid"])
                    .value_parser(parse);
                command.arg(arg)
            })
            .group(group)
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Shapes {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let mut found: Vec<(usize, Outline)> = Vec::new();
        for (option, ..) in KINDS {
            let values = matches.get_many::<Outline>(option).into_iter().flatten();
            let places = matches.indices_of(option).into_iter().flatten();
            found.extend(places.zip(values.cloned()));
        }
        found.sort_by_key(|(place, _)| *place);
        Ok(Self(
            found.into_iter().map(|(_, outline)| outline).collect(),
        ))
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_must_be_finite_and_as_many_as_the_shape_has() {
        assert!(numbers::<2>("1,2").is_ok());
        for wrong in ["", "1", "1,2,3", "1,x", "1,inf", "nan,1", "1;2"] {
            assert!(numbers::<2>(wrong).is_err(), "{wrong}");
        }
        assert!(polygon("0,0,1,0,1,1").is_ok());
        assert!(polygon("0,0,1,0,1").is_err() && polygon("0,0,1,0").is_err());
    }

    #[test]
    fn numbers_are_written_as_toml_floats() {
        let outline = polygon("-1,0, 1e30,0,1.5,1e-9").unwrap();
        assert_eq!(
            outline.entry,
            "polygon = [[-1.0, 0.0], [1e30, 0.0], [1.5, 1e-9]]"
        );
    }
}
