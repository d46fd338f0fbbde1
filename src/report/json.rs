//! `results.json`, and the JSON Schema that describes it.

use schemars::generate::SchemaSettings;
use serde_json::Value;

use crate::outcome::Results;

/// Why the results cannot be written as JSON: a fault of the program, not of the session.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("results.json: {what}")]
pub struct JsonError {
    what: String,
}

/// `results.json`: indented, every digit of every number, keys as in the types.
///
/// # Errors
/// A number that is not finite, which JSON cannot hold; its place is named.
pub fn results(results: &Results) -> Result<Vec<u8>, JsonError> {
    let failed = |error: serde_json::Error| JsonError {
        what: error.to_string(),
    };
    let tree = serde_json::to_value(results).map_err(failed)?;
    // Quantities that are not known are left out by the types, so a null can only be a number that is not finite.
    if let Some(place) = null_at(&tree) {
        return Err(JsonError {
            what: format!(
                "the number at `{}` is not finite; this is a fault of the program, please report it",
                place.trim_start_matches('.')
            ),
        });
    }
    let mut text = serde_json::to_string_pretty(results).map_err(failed)?;
    text.push('\n');
    Ok(text.into_bytes())
}

/// The path of the first null.
fn null_at(value: &Value) -> Option<String> {
    match value {
        Value::Null => Some(String::new()),
        Value::Array(items) => items
            .iter()
            .enumerate()
            .find_map(|(index, item)| Some(format!("[{index}]{}", null_at(item)?))),
        Value::Object(members) => members
            .iter()
            .find_map(|(key, member)| Some(format!(".{key}{}", null_at(member)?))),
        _ => None,
    }
}

/// The JSON Schema of `results.json`, generated from the types: `docs/results.schema.json`.
///
/// # Errors
/// None in practice.
pub fn schema() -> Result<String, JsonError> {
    let generator = SchemaSettings::draft2020_12()
        .for_serialize()
        .into_generator();
    let schema = generator.into_root_schema_for::<Results>();
    let mut text = serde_json::to_string_pretty(&schema).map_err(|error| JsonError {
        what: error.to_string(),
    })?;
    text.push('\n');
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn the_committed_schema_is_the_generated_one() {
        fixture::committed("docs/results.schema.json", &schema().unwrap());
    }

    #[test]
    fn results_without_and_with_intervals() {
        for intervals in [false, true] {
            let bytes = results(&fixture::outcome(intervals).results).unwrap();
            insta::assert_snapshot!(String::from_utf8(bytes).unwrap());
        }
    }

    #[test]
    fn numbers_keep_every_digit() {
        let outcome = fixture::outcome(false);
        let tree: Value = serde_json::from_slice(&results(&outcome.results).unwrap()).unwrap();
        assert_eq!(
            tree["readings"][0]["shown"]["mean"].as_f64(),
            Some(outcome.results.readings[0].shown.mean)
        );
    }

    #[test]
    fn a_number_that_is_not_finite_is_refused_by_its_place() {
        let mut outcome = fixture::outcome(false);
        outcome.results.readings[1].apparent = f64::NAN;
        let error = results(&outcome.results).unwrap_err().to_string();
        assert!(error.contains("readings[1].apparent"), "{error}");
    }

    /// The parts of JSON Schema that the generated one uses; an unknown keyword fails, so that nothing goes unchecked.
    fn conforms(value: &Value, schema: &Value, root: &Value, at: &str) {
        for (keyword, rule) in schema.as_object().unwrap() {
            match keyword.as_str() {
                "$schema" | "title" | "description" | "$defs" | "format" => {}
                "$ref" => {
                    let name = rule.as_str().unwrap().strip_prefix("#/$defs/").unwrap();
                    conforms(value, &root["$defs"][name], root, at);
                }
                "type" => {
                    let kinds = rule
                        .as_array()
                        .cloned()
                        .unwrap_or_else(|| vec![rule.clone()]);
                    let fits = kinds.iter().any(|kind| match kind.as_str().unwrap() {
                        "object" => value.is_object(),
                        "array" => value.is_array(),
                        "string" => value.is_string(),
                        "number" => value.is_number(),
                        "integer" => value.is_u64() || value.is_i64(),
                        "null" => value.is_null(),
                        other => panic!("type {other}"),
                    });
                    assert!(fits, "{at}: {value} is not {rule}");
                }
                "required" => {
                    for key in rule.as_array().unwrap() {
                        assert!(value.get(key.as_str().unwrap()).is_some(), "{at}: no {key}");
                    }
                }
                "properties" => {
                    for (key, member) in value.as_object().unwrap() {
                        let known = rule.get(key);
                        assert!(
                            known.is_some()
                                || schema.get("additionalProperties").is_some()
                                || schema.get("patternProperties").is_some(),
                            "{at}: {key} is not in the schema"
                        );
                        if let Some(schema) = known {
                            conforms(member, schema, root, &format!("{at}.{key}"));
                        }
                    }
                }
                "items" => {
                    for (index, item) in value.as_array().unwrap().iter().enumerate() {
                        conforms(item, rule, root, &format!("{at}[{index}]"));
                    }
                }
                "additionalProperties" if rule.is_boolean() => {}
                "additionalProperties" => {
                    for (key, member) in value.as_object().unwrap() {
                        conforms(member, rule, root, &format!("{at}.{key}"));
                    }
                }
                // A tagged one: the schema whose constant `kind` is the value's.
                "oneOf" if value.get("kind").is_some() => {
                    let mut kinds = rule.as_array().unwrap().iter();
                    let of_kind =
                        kinds.find(|one| one["properties"]["kind"]["const"] == value["kind"]);
                    let schema =
                        of_kind.unwrap_or_else(|| panic!("{at}: {value} is none of {rule}"));
                    conforms(value, schema, root, at);
                }
                "anyOf" | "oneOf" => {
                    let constants: Vec<_> = rule
                        .as_array()
                        .unwrap()
                        .iter()
                        .flat_map(|one| {
                            one.get("const").cloned().into_iter().chain(
                                one.get("enum")
                                    .and_then(Value::as_array)
                                    .cloned()
                                    .unwrap_or_default(),
                            )
                        })
                        .collect();
                    assert!(
                        constants.is_empty() || constants.contains(value),
                        "{at}: {value} is none of {rule}"
                    );
                    if constants.is_empty() {
                        let first = rule
                            .as_array()
                            .unwrap()
                            .iter()
                            .find(|one| one.get("$ref").is_some())
                            .unwrap();
                        conforms(value, first, root, at);
                    }
                }
                "minimum" => assert!(value.as_f64().unwrap() >= rule.as_f64().unwrap(), "{at}"),
                "enum" => assert!(
                    rule.as_array().unwrap().contains(value),
                    "{at}: {value} is none of {rule}"
                ),
                "const" => assert_eq!(value, rule, "{at}"),
                other => panic!("{at}: keyword {other} is not checked"),
            }
        }
    }

    #[test]
    fn results_conform_to_the_schema() {
        let root: Value = serde_json::from_str(&schema().unwrap()).unwrap();
        for intervals in [false, true] {
            let bytes = results(&fixture::outcome(intervals).results).unwrap();
            let tree: Value = serde_json::from_slice(&bytes).unwrap();
            conforms(&tree, &root, &root, "");
        }
    }
}
