//! Reading a job from a file or from standard input.

use crate::failure::Failure;
use crate::terminal;
use crate::text::excerpt;
use crate::text::{Page, wrap};
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;
use voltwright_job::near::nearest;
use voltwright_job::{Diagnostic, Job, Lines, Severity};

/// More than this is no job; the reader of jobs says so with the size.
const LARGEST: u64 = 8 << 20;

/// A job as read, with its text.
#[derive(Debug)]
pub struct Source {
    /// Name of the file as shown.
    pub file: String,
    /// Its text.
    pub text: String,
    /// The job.
    pub job: Job,
    /// Warnings; errors are a [`Failure`].
    pub warnings: Vec<Diagnostic>,
}

/// Reads the job in a file, or from standard input for `-`; warnings go to standard error.
pub fn open(name: &str) -> Result<Source, Failure> {
    let (file, text) = text(name)?;
    let page = terminal::errors();
    let source = judge(file, text, &page)?;
    if !source.warnings.is_empty() {
        terminal::complain(&render(&source.warnings, &source.file, &source.text, &page));
    }
    Ok(source)
}

/// The name as shown and the text of a file, or of standard input for `-`.
pub fn text(name: &str) -> Result<(String, String), Failure> {
    let file = if name == "-" { "standard input".to_owned() } else { name.to_owned() };
    let bytes = if name == "-" { bytes(io::stdin().lock()) } else { File::open(name).and_then(bytes) };
    let bytes = bytes.map_err(|e| unreadable(name, &file, &e))?;
    let text = if bytes.len() as u64 == LARGEST {
        String::from_utf8_lossy(&bytes).into_owned() // refused for its size; the cut may have gone through a character
    } else {
        String::from_utf8(bytes).map_err(|e| not_text(&file, &e))?
    };
    Ok((file, text))
}

/// Reads the job in a text; all its errors are one failure.
fn judge(file: String, text: String, page: &Page) -> Result<Source, Failure> {
    let reading = voltwright_job::read(&text);
    if reading.is_usable() {
        return Ok(Source { file, text, job: reading.job, warnings: reading.diagnostics });
    }
    let errors = reading.diagnostics.iter().filter(|d| d.severity == Severity::Error).count();
    let count = if errors == 1 { "1 error".to_owned() } else { format!("{errors} errors") };
    let last =
        wrap::paragraph(&format!("{count} in {file}; nothing was computed."), wrap::Indent(0, 4), page);
    Err(Failure::Job(render(&reading.diagnostics, &file, &text, page) + &last))
}

fn render(diagnostics: &[Diagnostic], file: &str, text: &str, page: &Page) -> String {
    let lines = Lines::new(text);
    diagnostics.iter().map(|d| excerpt::render(d, file, &lines, page) + "\n").collect()
}

fn bytes(from: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    from.take(LARGEST).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn unreadable(name: &str, file: &str, error: &io::Error) -> Failure {
    let hint = match error.kind() {
        io::ErrorKind::NotFound => neighbour(name).map(|near| format!("did you mean `{near}`?")),
        io::ErrorKind::IsADirectory => Some("name the job file in it".to_owned()),
        _ => None,
    };
    Failure::File { what: "read", file: file.to_owned(), why: why(error), hint }
}

/// What went wrong, in words.
pub fn why(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".into(),
        io::ErrorKind::PermissionDenied => "it is not allowed to you".into(),
        io::ErrorKind::IsADirectory => "it is a directory".into(),
        io::ErrorKind::AlreadyExists => "it exists already".into(),
        _ => error.to_string(),
    }
}

/// The file beside it whose name was probably meant.
fn neighbour(name: &str) -> Option<String> {
    let path = Path::new(name);
    let directory = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut names: Vec<String> = std::fs::read_dir(directory)
        .ok()?
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|n| n.ends_with(".toml"))
        .collect();
    names.sort();
    let near = nearest(path.file_name()?.to_str()?, names.iter().map(String::as_str))?;
    Some(path.with_file_name(near).display().to_string())
}

fn not_text(file: &str, error: &std::string::FromUtf8Error) -> Failure {
    let good = error.utf8_error().valid_up_to();
    let line = error.as_bytes()[..good].iter().filter(|b| **b == b'\n').count() + 1;
    Failure::File {
        what: "read",
        file: file.to_owned(),
        why: format!("line {line} is not UTF-8 text (byte {good})"),
        hint: Some("a job file is plain text, TOML in UTF-8; save it so in your editor".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: Page = Page { columns: 80, colour: false };

    #[test]
    fn all_errors_of_a_job_are_one_failure() {
        let text = "format = 1\n[job]\ntitle = \"T\"\ncuontry = \"IE\"\n[rail]\np5 = { nominal = \"5 A\" }\n";
        let failure = judge("a.toml".into(), text.into(), &PAGE).unwrap_err();
        let told = failure.to_string();
        assert!(told.contains("a.toml:4:1:") && told.contains("a.toml:6:"), "{told}");
        assert!(told.ends_with("2 errors in a.toml; nothing was computed.\n"), "{told}");
    }

    #[test]
    fn bytes_that_are_no_text_are_placed() {
        let error = String::from_utf8(b"format = 1\n\xff".to_vec()).unwrap_err();
        assert!(not_text("a", &error).to_string().contains("line 2"));
    }
}
