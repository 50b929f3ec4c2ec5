//! Names inside archives, which nobody has to trust.

/// A name without anything that leads elsewhere: `/` between parts, no drive letter, no
/// root, no `.` or `..`, no control characters. An empty one becomes `unnamed`.
pub(super) fn clean(name: &str) -> String {
    let name = name.replace('\\', "/");
    let parts: Vec<String> = name
        .split('/')
        .enumerate()
        .filter(|(i, part)| {
            let is_drive = *i == 0 && part.len() == 2 && part.ends_with(':');
            !is_drive && !matches!(part.trim(), "" | "." | "..")
        })
        .map(|(_, part)| {
            part.trim().chars().map(|c| if c.is_control() { '_' } else { c }).collect()
        })
        .collect();
    if parts.is_empty() { "unnamed".to_owned() } else { parts.join("/") }
}

/// Why a file is nobody's log: hidden, or left behind by an operating system.
pub(crate) fn litter(label: &str) -> Option<&'static str> {
    const LEFT_BEHIND: [&str; 3] = ["thumbs.db", "desktop.ini", "__macosx"];
    if label.split('/').any(|part| LEFT_BEHIND.contains(&part.to_lowercase().as_str())) {
        Some("left behind by an operating system")
    } else if label.split('/').any(|part| part.starts_with('.')) {
        Some("hidden")
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn names_are_labels_only() {
        for (name, label) in [
            ("pit-a.csv", "pit-a.csv"),
            ("may/one.csv", "may/one.csv"),
            ("may\\one.csv", "may/one.csv"),
            ("../../etc/passwd", "etc/passwd"),
            ("/etc/passwd", "etc/passwd"),
            ("C:\\logs\\a.csv", "logs/a.csv"),
            ("\\\\server\\share\\a.csv", "server/share/a.csv"),
            ("a/./b//c.csv", "a/b/c.csv"),
            ("a\nb\u{1b}.csv", "a_b_.csv"),
            ("..", "unnamed"),
        ] {
            assert_eq!(clean(name), label, "{name}");
        }
        assert!(litter("a/.DS_Store").is_some() && litter("__MACOSX/a.csv").is_some());
        assert!(litter("a/Thumbs.db").is_some() && litter("a.csv").is_none());
    }

    proptest! {
        #[test]
        fn a_label_leads_nowhere_else(name in any::<String>()) {
            let label = clean(&name);
            prop_assert!(!label.starts_with('/') && !label.contains('\\'));
            prop_assert!(label.split('/').all(|part| !["", ".", ".."].contains(&part)));
            prop_assert!(!label.chars().any(char::is_control));
        }
    }
}
