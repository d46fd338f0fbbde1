//! The one list of keys that a session may hold but that this version does not act on yet.

/// Kind of table and key. A key that comes into use leaves this list, and nothing else has to change.
pub(super) const NOT_YET_USED: &[(&str, &str)] = &[];

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
