//! Words of a printed command as a POSIX shell takes them (IEEE Std 1003.1, Shell Command Language,
//! 2.2 Quoting). Every command that the program prints goes through here, so that it can be pasted.
//!
//! A harmless word stays as it is. One without a character that works inside double quotes stands in
//! those, as other shells take them too; any other in single quotes, where nothing works. What a line
//! cannot show is written for `printf`, byte by byte.

use std::ffi::OsStr;
use std::fmt::Write as _;
use std::path::Path;

use super::text::clean;

/// A word that stands for itself.
#[must_use]
pub fn word(text: &str) -> String {
    of_bytes(text.as_bytes())
}

/// A path to a file, or `-`. One that begins like a flag is counted from its folder on.
#[must_use]
pub fn path(path: &Path) -> String {
    let text: &OsStr = path.as_os_str();
    let bytes = text.as_encoded_bytes();
    if bytes.starts_with(b"-") && bytes.len() > 1 {
        return of_bytes(&[b"./", bytes].concat());
    }
    of_bytes(bytes)
}

/// A flag and its value, with a space before: ` --strategy "solar only"`.
#[must_use]
pub fn flag(name: &str, value: &str) -> String {
    // A value that begins like a flag would be taken for one.
    let between = if value.starts_with('-') { '=' } else { ' ' };
    format!(" --{name}{between}{}", word(value))
}

fn of_bytes(bytes: &[u8]) -> String {
    let Ok(text) = std::str::from_utf8(bytes) else { return for_printf(bytes) };
    if is_unseen(text) {
        return for_printf(bytes);
    }
    let plain = |c: char| c.is_alphanumeric() || "_@%+=:,./-".contains(c);
    if !text.is_empty() && text.chars().all(plain) && !text.starts_with('=') {
        text.to_owned()
    } else if !text.contains(['"', '$', '`', '\\', '!']) {
        format!("\"{text}\"")
    } else {
        format!("'{}'", text.replace('\'', "'\\''"))
    }
}

/// Whether a line of a table would not show a text as it is.
fn is_unseen(text: &str) -> bool {
    // Between letters, for a line has no spaces at its ends.
    let between = format!("x{text}x");
    clean(&between) != between
}

/// The bytes as `printf '%b'` prints them: what is not a harmless letter as `\0` and three octal digits.
fn for_printf(bytes: &[u8]) -> String {
    let mut told = String::from("\"$(printf '%b' '");
    for byte in bytes {
        if byte.is_ascii_alphanumeric() || b"_@%+=:,./-".contains(byte) {
            told.push(char::from(*byte));
        } else {
            // Nothing is written that could fail.
            let _ = write!(told, "\\0{byte:03o}");
        }
    }
    told + "')\""
}

#[cfg(test)]
mod tests {
    use super::*;

    const NAMES: [&str; 18] = [
        "hall.json",
        "solar only",
        "$(touch X)",
        "`touch X`",
        "a; touch X",
        "a\"b",
        "it's",
        "it's $HOME \"and\" \\ `more`!",
        "*",
        "~",
        "#",
        "",
        "two  spaces ",
        "tab\there",
        "line\nbreak",
        "back\\slash\u{1b}[31m",
        "\u{202e}turned",
        "=über & ünder |<>(){}[]?^%!",
    ];

    #[cfg(unix)]
    fn through_a_shell(command: &str, folder: &Path) -> String {
        let output = std::process::Command::new("sh")
            .args(["-c", command])
            .current_dir(folder)
            .output()
            .unwrap();
        assert!(output.status.success(), "{command}: {output:?}");
        String::from_utf8(output.stdout).unwrap()
    }

    #[cfg(unix)]
    #[test]
    fn a_shell_takes_every_word_as_it_was_meant() {
        let folder = tempfile::tempdir().unwrap();
        for name in NAMES {
            let printed = word(name);
            assert!(!is_unseen(&printed), "{printed:?}");
            let command = format!("printf '<%s>' x{} {printed}", flag("strategy", name));
            let between = if name.starts_with('-') { "=" } else { "><" };
            let told = format!("<x><--strategy{between}{name}><{name}>");
            assert_eq!(through_a_shell(&command, folder.path()), told, "{command}");
        }
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "a name was executed");
    }

    #[cfg(unix)]
    #[test]
    fn a_path_need_not_be_text_and_is_never_a_flag() {
        use std::os::unix::ffi::OsStrExt;
        let odd = Path::new(OsStr::from_bytes(b"a \xff'$b"));
        let output = std::process::Command::new("sh")
            .args(["-c", &format!("printf '%s' {}", path(odd))])
            .output()
            .unwrap();
        assert_eq!(output.stdout, b"a \xff'$b");
        assert_eq!(path(Path::new("-x.json")), "./-x.json");
        assert_eq!(path(Path::new("-")), "-");
        assert_eq!(flag("strategy", "-x"), " --strategy=-x");
        assert_eq!(flag("strategy", "solar only"), " --strategy \"solar only\"");
    }
}
