//! Builds the web pages and puts them into the program: `npm run build` in `display-client/web`,
//! unless `FLOORBELL_PAGES` names a folder of built ones (from the workspace's root). What comes
//! out is a table for `src/pages.rs`, with every file as it is and, where that is smaller, gzipped:
//! the server then compresses nothing while a class runs.

use std::env;
use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use flate2::Compression;
use flate2::write::GzEncoder;
use sha2::{Digest, Sha256};

const PREBUILT: &str = "FLOORBELL_PAGES";

type Outcome<T> = Result<T, String>;

fn main() -> ExitCode {
    match build() {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            for line in problem.lines() {
                println!("cargo::error={line}");
            }
            ExitCode::FAILURE
        }
    }
}

fn build() -> Outcome<()> {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-env-changed={PREBUILT}");
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let out = PathBuf::from(env::var_os("OUT_DIR").ok_or("cargo sets OUT_DIR")?);
    let pages = match env::var_os(PREBUILT) {
        Some(folder) => {
            let folder = root.join(folder);
            println!("cargo::rerun-if-changed={}", folder.display());
            if !folder.join("index.html").is_file() {
                return Err(format!(
                    "{PREBUILT} names {}, where there is no index.html: name a folder that `npm \
                     run build` made, or unset it.",
                    folder.display()
                ));
            }
            folder
        }
        None => build_pages(&root.join("display-client/web"), &out)?,
    };
    let table = table(&pages, &out)?;
    write(&out.join("pages.rs"), table.as_bytes())
}

/// Builds the pages out of the source tree, and returns the folder that they are in.
fn build_pages(web: &Path, out: &Path) -> Outcome<PathBuf> {
    println!("cargo::rerun-if-changed={}", web.join("src").display());
    for entry in fs::read_dir(web).map_err(|e| format!("{}: {e}", web.display()))? {
        let path = entry.map_err(|e| e.to_string())?.path();
        if path.is_file() {
            println!("cargo::rerun-if-changed={}", path.display());
        }
    }
    if packages_are_stale(web) {
        npm(web, &["ci", "--no-audit", "--no-fund", "--loglevel=error"])?;
    }
    let pages = out.join("pages");
    let folder = pages.to_str().ok_or("the target folder's path is not UTF-8")?;
    npm(web, &["run", "build", "--", "--outDir", folder, "--emptyOutDir"])?;
    Ok(pages)
}

/// Whether the packages were never installed, or before the lock file was last changed.
fn packages_are_stale(web: &Path) -> bool {
    let changed = |file: &str| fs::metadata(web.join(file)).and_then(|data| data.modified()).ok();
    changed("node_modules/.package-lock.json") < changed("package-lock.json")
}

fn npm(web: &Path, arguments: &[&str]) -> Outcome<()> {
    let command = format!("npm {}", arguments.join(" "));
    let output = Command::new("npm").args(arguments).current_dir(web).output().map_err(|e| {
        format!(
            "The web pages cannot be built, because npm cannot be started ({e}): install Node.js \
             20.19 or later, which brings npm, or name a folder of built pages with {PREBUILT}."
        )
    })?;
    if output.status.success() {
        return Ok(());
    }
    Err(format!(
        "The web pages cannot be built: `{command}` failed in {}. Node.js has to be 20.19 or \
         later, and `npm ci` has to reach the package registry. It said:\n{}{}",
        web.display(),
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr),
    ))
}

/// The table in Rust, in the order of the paths.
fn table(pages: &Path, out: &Path) -> Outcome<String> {
    let mut files = Vec::new();
    collect(pages, &mut files)?;
    let mut rows = Vec::new();
    for file in files {
        let name = file.strip_prefix(pages).map_err(|e| e.to_string())?;
        let name = name.to_str().ok_or("a page's file name is not UTF-8")?.replace('\\', "/");
        rows.push(row(&name, &file, out)?);
    }
    rows.sort();
    let rows: String = rows.into_iter().map(|(_, row)| row).collect();
    Ok(format!("&[\n{rows}]\n"))
}

/// All files under a folder.
fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> Outcome<()> {
    for entry in fs::read_dir(folder).map_err(|e| format!("{}: {e}", folder.display()))? {
        let path = entry.map_err(|e| e.to_string())?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else {
            files.push(path);
        }
    }
    Ok(())
}

/// One row of the table, with the path that a browser asks for.
fn row(name: &str, file: &Path, out: &Path) -> Outcome<(String, String)> {
    let bytes = fs::read(file).map_err(|e| format!("{}: {e}", file.display()))?;
    let hash = Sha256::digest(&bytes);
    let mut etag = String::from("\"");
    for byte in &hash[..16] {
        write!(etag, "{byte:02x}").expect("a string takes everything");
    }
    etag.push('"');
    let gzipped = gzip(&bytes)?;
    let gzip = if gzipped.len() < bytes.len() {
        let path = out.join(format!("{}.gz", etag.trim_matches('"')));
        write(&path, &gzipped)?;
        format!("Some({})", included(&path)?)
    } else {
        "None".into()
    };
    let path = match name.strip_suffix(".html") {
        Some("index") => "/".into(),
        Some(page) => format!("/{page}"),
        None => format!("/{name}"),
    };
    // What the bundler puts into assets/ has the hash of its content in its name.
    let lasting = name.starts_with("assets/");
    let content_type = content_type(name)?;
    let bytes = included(file)?;
    let row = format!(
        "    Page {{ path: {path:?}, content_type: {content_type:?}, etag: {etag:?}, \
         lasting: {lasting}, bytes: {bytes}, gzip: {gzip} }},\n"
    );
    Ok((path, row))
}

fn included(file: &Path) -> Outcome<String> {
    let path = file.to_str().ok_or("the path of the pages is not UTF-8")?;
    Ok(format!("include_bytes!({path:?})"))
}

fn gzip(bytes: &[u8]) -> Outcome<Vec<u8>> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes).and_then(|()| encoder.finish()).map_err(|e| e.to_string())
}

fn content_type(name: &str) -> Outcome<&'static str> {
    let extension = Path::new(name).extension().and_then(|extension| extension.to_str());
    Ok(match extension {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("txt") => "text/plain; charset=utf-8",
        Some("json") => "application/json",
        Some("webmanifest") => "application/manifest+json",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("woff2") => "font/woff2",
        _ => return Err(format!("build.rs knows no content type for the page file {name}.")),
    })
}

fn write(path: &Path, bytes: &[u8]) -> Outcome<()> {
    fs::write(path, bytes).map_err(|e| format!("{}: {e}", path.display()))
}
