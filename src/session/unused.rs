//! The one list of keys that a session may hold but that this version does not act on yet.

/// Kind of table and key. A key that comes into use leaves this list, and nothing else has to change.
pub(super) const NOT_YET_USED: &[(&str, &str)] = &[
    ("session", "limits"),
    ("conditions", "outer-film"),
    ("conditions", "air-speed"),
    ("conditions", "cooling-air-flow"),
    ("instrument", "colour-bar"),
    ("instrument", "low-end"),
    ("instrument", "bar-law"),
    ("surface", "wall"),
    ("surface", "conductivity"),
    ("surface", "density"),
    ("surface", "specific-heat"),
    ("surface", "outer-area-ratio"),
    ("cooler", "inner-film"),
    ("cooler", "tank-diameter"),
    ("cooler", "tank-height"),
    ("run", "inlet-air"),
    ("run", "outlet-air"),
    ("snapshot", "at"),
    ("snapshot", "low"),
    ("snapshot", "high"),
    ("snapshot", "printed"),
    ("snapshot", "colour-bar"),
    ("pistol", "at"),
];

#[cfg(test)]
mod tests {
    use super::*;

    const FULL: &str = include_str!("../../tests/data/session/full.toml");

    #[test]
    fn every_key_of_the_list_is_one_that_a_session_may_hold() {
        let session = crate::session::from_text(std::path::Path::new("full.toml"), FULL).unwrap();
        let unused: Vec<&str> = session
            .unused
            .iter()
            .map(|key| key.place.as_str())
            .collect();
        for (kind, key) in NOT_YET_USED {
            let listed = |place: &&str| place.rsplit('.').next() == Some(*key);
            assert!(unused.iter().any(listed), "{kind}.{key} is not reached");
        }
    }
}
