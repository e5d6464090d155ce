//! Converts files of earlier format versions, one step per version.

use serde_json::Value;

use super::VERSION;

/// Converts a file's tree to the next version.
pub type Step = fn(&mut Value);

/// The steps in order: the first converts version 1 to 2. A new format version needs a new step
/// here and a folder of files in the test of all versions.
pub const STEPS: [Step; VERSION as usize - 1] = [];

/// Runs all steps that a file of this version needs.
pub fn bring_up(tree: &mut Value, version: u64, steps: &[Step]) {
    let behind = usize::try_from(version.saturating_sub(1)).unwrap_or(usize::MAX);
    for step in steps.iter().skip(behind) {
        step(tree);
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn add(tree: &mut Value, what: &str) {
        tree["steps"] = json!(format!("{}{what}", tree["steps"].as_str().unwrap_or("")));
    }

    #[test]
    fn a_file_takes_every_step_from_its_version_on_once_and_in_order() {
        let steps: [Step; 3] = [|it| add(it, "1"), |it| add(it, "2"), |it| add(it, "3")];
        for (version, taken) in [
            (1, "123"),
            (2, "23"),
            (3, "3"),
            (4, ""),
            (0, "123"),
            (u64::MAX, ""),
        ] {
            let mut tree = json!({ "steps": "" });
            bring_up(&mut tree, version, &steps);
            assert_eq!(tree["steps"], taken, "from {version}");
        }
    }
}
