//! The types of a result know nothing of what computes them: else the files of the study import each
//! other in a circle, and `report` could not print them without the computations.

use std::path::Path;

/// What a file of `src/result` may use of the crate: what was asked, and the words of an answer.
const MAY_USE: [&str; 3] = ["claims", "result", "verdict"];

#[test]
fn types_of_a_result_use_no_computation() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = vec![folder.join("result.rs")];
    for entry in std::fs::read_dir(folder.join("result")).expect("the folder") {
        files.push(entry.expect("an entry").path());
    }
    assert!(files.len() > 10, "types of results are in {}", folder.display());
    for file in files {
        let text = std::fs::read_to_string(&file).expect("a file of the crate");
        let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
        for used in code.flat_map(|line| line.split("crate::").skip(1)) {
            let room = used.split(|c: char| !c.is_alphanumeric() && c != '_').next();
            assert!(room.is_some_and(|room| MAY_USE.contains(&room)), "{}: {used}", file.display());
        }
    }
}
