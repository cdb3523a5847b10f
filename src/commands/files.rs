//! Files in and out.
//!
//! A file is written whole or not at all: into a temporary file beside it, which then takes its
//! name. It is not forced to the disk: results can be made again, and waiting for the disk would
//! take as long as the run. Every error names the path.

use std::ffi::OsString;
use std::fs::{self, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use crate::error::Error;
use crate::show::Picture;

/// The path that stands for standard input or output.
pub const STANDARD: &str = "-";

/// Whether a path stands for standard input or output.
#[must_use]
pub fn is_standard(path: &Path) -> bool {
    path.as_os_str() == STANDARD
}

/// Word for the results of a scenario: the name of its file without its ending.
#[must_use]
pub fn name_of(scenario: &Path) -> String {
    let stem = if is_standard(scenario) { None } else { scenario.file_stem() };
    stem.map_or("standard-input".to_owned(), |stem| stem.to_string_lossy().into_owned())
}

/// The bytes of a file; of standard input for `-`.
///
/// # Errors
/// When it cannot be read.
pub fn read_bytes(path: &Path) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    let read = if is_standard(path) {
        io::stdin().lock().read_to_end(&mut bytes).map(|_| ())
    } else {
        fs::read(path).map(|whole| bytes = whole)
    };
    read.map(|()| bytes).map_err(|source| failed("read", path, source))
}

/// The text of a file; of standard input for `-`.
///
/// # Errors
/// When it cannot be read or is not UTF-8.
pub fn read_text(path: &Path) -> Result<String, Error> {
    String::from_utf8(read_bytes(path)?).map_err(|problem| {
        let text = format!("it is not UTF-8: {}", problem.utf8_error());
        failed("read", path, io::Error::new(io::ErrorKind::InvalidData, text))
    })
}

/// Prints a text on standard output, without colour where it does not belong.
///
/// # Errors
/// When it cannot be written; a reader that went away is such an error, see
/// [`Error::is_closed_pipe`].
pub fn print(text: &str) -> Result<(), Error> {
    let mut to = anstream::stdout().lock();
    to.write_all(text.as_bytes()).and_then(|()| to.flush()).map_err(Error::Output)
}

/// Tells people something on standard error. If nobody listens, nothing is lost.
pub fn tell(text: &str) {
    let _ = anstream::stderr().lock().write_all(text.as_bytes());
}

/// Creates a folder with all folders above it; one that is there is fine.
///
/// # Errors
/// When it cannot be created.
pub fn create_folder(folder: &Path) -> Result<(), Error> {
    fs::create_dir_all(folder).map_err(|source| failed("create", folder, source))
}

/// The files of pictures: each as SVG, and as PNG where the program can.
///
/// # Errors
/// When one cannot be drawn.
pub fn drawn(pictures: Vec<Picture>) -> Result<Vec<(String, Vec<u8>)>, Error> {
    let svg = |picture: &Picture| (format!("{}.svg", picture.name), picture.svg.clone().into());
    #[allow(unused_mut)]
    let mut all: Vec<(String, Vec<u8>)> = pictures.iter().map(svg).collect();
    #[cfg(feature = "png")]
    {
        let drawn = crate::show::png::with_png(pictures)
            .map_err(|source| Error::Output(io::Error::other(source.to_string())))?;
        all.extend(drawn.into_iter().map(|(picture, png)| (format!("{}.png", picture.name), png)));
    }
    Ok(all)
}

/// Writes a file whole or not at all.
///
/// A link is followed, the permissions of a file that is there are kept, and what is no regular
/// file (a terminal, a named pipe) is written directly.
///
/// # Errors
/// When it cannot be written.
pub fn write_whole(path: &Path, contents: &[u8]) -> Result<(), Error> {
    // What is there, if anything: links are followed to the file that they mean.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let there = fs::metadata(&target).ok();
    if there.as_ref().is_some_and(|meta| !meta.is_file() && !meta.is_dir()) {
        return fs::write(&target, contents).map_err(|source| failed("write", path, source));
    }
    let permissions = there.map(|meta| meta.permissions());
    replace(&target, contents, permissions).map_err(|source| failed("write", path, source))
}

fn replace(target: &Path, contents: &[u8], permissions: Option<fs::Permissions>) -> io::Result<()> {
    let (mut file, temporary) = create_beside(target)?;
    let written = file
        .write_all(contents)
        .and_then(|()| permissions.map_or(Ok(()), |kept| file.set_permissions(kept)));
    drop(file);
    let renamed = written.and_then(|()| fs::rename(&temporary, target));
    if renamed.is_err() {
        // What cannot be written cannot always be removed; the first error is the one to tell.
        let _ = fs::remove_file(&temporary);
    }
    renamed
}

/// A new file in the folder of `target` with a name that nothing has.
fn create_beside(target: &Path) -> io::Result<(fs::File, PathBuf)> {
    let name = target.file_name().ok_or(io::ErrorKind::IsADirectory)?;
    let mut attempt = 0_u32;
    loop {
        let mut temporary = OsString::from(".");
        temporary.push(name);
        temporary.push(format!(".{}-{attempt}.tmp", std::process::id()));
        let path = target.with_file_name(temporary);
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(file) => return Ok((file, path)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && attempt < 100 => {
                attempt += 1
            }
            Err(error) => return Err(error),
        }
    }
}

fn failed(action: &'static str, path: &Path, source: io::Error) -> Error {
    let path = if is_standard(path) { PathBuf::from("standard input") } else { path.to_path_buf() };
    Error::File { action, path, source }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_file_is_replaced_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("summary.json");
        write_whole(&path, b"one").unwrap();
        write_whole(&path, b"two").unwrap();
        assert_eq!(read_text(&path).unwrap(), "two");
        assert_eq!(names(folder.path()), ["summary.json"]);
    }

    #[test]
    fn a_failure_names_the_path_and_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let taken = folder.path().join("taken");
        create_folder(&taken.join("inside")).unwrap();
        let error = write_whole(&taken, b"text").unwrap_err();
        assert_eq!(error.exit_code(), 4);
        assert!(
            error.to_string().contains(&format!("cannot write `{}`", taken.display())),
            "{error}"
        );
        assert_eq!(names(folder.path()), ["taken"]);
        let missing = folder.path().join("missing").join("file.csv");
        assert!(write_whole(&missing, b"text").unwrap_err().to_string().contains("file.csv"));
        assert!(read_text(&missing).unwrap_err().to_string().starts_with("cannot read `"));
    }

    #[test]
    fn a_folder_may_be_there_but_not_a_file_of_its_name() {
        let folder = tempfile::tempdir().unwrap();
        let deep = folder.path().join("a").join("b");
        create_folder(&deep).unwrap();
        create_folder(&deep).unwrap();
        let file = deep.join("file");
        write_whole(&file, b"text").unwrap();
        assert!(create_folder(&file).unwrap_err().to_string().starts_with("cannot create `"));
    }

    #[test]
    fn text_must_be_utf8() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("latin1.json");
        write_whole(&path, b"Z\xfcrich").unwrap();
        assert!(read_text(&path).unwrap_err().to_string().contains("UTF-8"));
    }

    #[cfg(unix)]
    #[test]
    fn links_and_permissions_stay() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().unwrap();
        let (file, link) = (folder.path().join("file"), folder.path().join("link"));
        write_whole(&file, b"one").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
        symlink(&file, &link).unwrap();
        write_whole(&link, b"two").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(read_text(&file).unwrap(), "two");
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o640);
    }
}
