//! A small file server for one person or one test on this machine.

use std::fs;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream, ToSocketAddrs};
use std::path::{Component, Path, PathBuf};
use std::sync::{
    Arc,
    atomic::{AtomicBool, Ordering},
};
use std::thread;

/// A folder being served until the process ends.
#[derive(Debug, Clone)]
pub struct Server {
    address: SocketAddr,
    mount: String,
    is_cut: Arc<AtomicBool>,
}

impl Server {
    /// Serves `folder` at `address` (port 0 picks a free one), below the path `mount`, which begins
    /// and ends with a slash.
    ///
    /// # Errors
    /// The address is taken or not ours.
    pub fn start(folder: &Path, address: impl ToSocketAddrs, mount: &str) -> io::Result<Self> {
        let listener = TcpListener::bind(address)?;
        let server = Self {
            address: listener.local_addr()?,
            mount: mount.to_owned(),
            is_cut: Arc::default(),
        };
        let is_cut = server.is_cut.clone();
        let (folder, mount) = (folder.to_path_buf(), mount.to_owned());
        thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                if is_cut.load(Ordering::Relaxed) {
                    continue;
                }
                let (folder, mount) = (folder.clone(), mount.clone());
                // A browser that disconnects early is not an error.
                thread::spawn(move || answer(stream, &folder, &mount).ok());
            }
        });
        Ok(server)
    }

    /// Cuts or restores the network: while it is cut, every connection is dropped without an
    /// answer.
    pub fn cut(&self, is_cut: bool) {
        self.is_cut.store(is_cut, Ordering::Relaxed);
    }

    /// The address of the folder for a browser on this machine.
    pub fn url(&self) -> String {
        format!("http://{}{}", self.address, self.mount)
    }
}

fn answer(stream: TcpStream, folder: &Path, mount: &str) -> io::Result<()> {
    let mut reader = BufReader::new(stream.try_clone()?.take(64 * 1024));
    let mut request = String::new();
    reader.read_line(&mut request)?;
    let mut header = String::new();
    while reader.read_line(&mut header)? > 2 {
        header.clear();
    }
    let mut words = request.split_whitespace();
    let (method, target) = (
        words.next().unwrap_or_default(),
        words.next().unwrap_or_default(),
    );
    if !matches!(method, "GET" | "HEAD") {
        return reply(stream, "405 Method Not Allowed", "text/plain", b"", method);
    }
    let file = file_for(target, folder, mount);
    match file.and_then(|file| Some((kind_of(&file), fs::read(file).ok()?))) {
        Some((kind, body)) => reply(stream, "200 OK", kind, &body, method),
        None => reply(stream, "404 Not Found", "text/plain", b"not found", method),
    }
}

fn reply(mut to: TcpStream, status: &str, kind: &str, body: &[u8], method: &str) -> io::Result<()> {
    write!(
        to,
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\n\
         Cache-Control: no-cache\r\nConnection: close\r\n\r\n",
        body.len()
    )?;
    if method != "HEAD" {
        to.write_all(body)?;
    }
    to.flush()
}

/// The file of a request's target; `None` for anything outside the folder.
fn file_for(target: &str, folder: &Path, mount: &str) -> Option<PathBuf> {
    let path = target.split(['?', '#']).next()?;
    let path = percent_decoded(path.strip_prefix(mount)?)?;
    let path = Path::new(&path);
    // Plain names only: no `..`, no root.
    if !path
        .components()
        .all(|part| matches!(part, Component::Normal(_)))
    {
        return None;
    }
    let file = folder.join(path);
    Some(if file.is_dir() {
        file.join("index.html")
    } else {
        file
    })
}

fn percent_decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let digits = [rest.next()?, rest.next()?];
            let digits = std::str::from_utf8(&digits).ok()?;
            bytes.push(u8::from_str_radix(digits, 16).ok()?);
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).ok()
}

fn kind_of(file: &Path) -> &'static str {
    match file
        .extension()
        .and_then(|end| end.to_str())
        .unwrap_or_default()
    {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "wasm" => "application/wasm",
        "json" => "application/json",
        "webmanifest" => "application/manifest+json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "ico" => "image/x-icon",
        "md" | "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_files_of_the_folder_are_reached() {
        let folder = Path::new("no-such-folder");
        let file = |target| file_for(target, folder, "/at/");
        assert_eq!(file("/at/a%20b.json?x=1"), Some(folder.join("a b.json")));
        assert_eq!(file("/a.json"), None, "outside the mount");
        assert_eq!(file("/at/../a"), None);
        assert_eq!(file("/at/%2e%2e/a"), None);
        assert_eq!(file("/at//etc/passwd"), None);
        assert_eq!(file("/at/%f"), None);
    }

    #[test]
    fn a_file_arrives_whole_with_its_kind() {
        let top = crate::top();
        let server = Server::start(top, ("127.0.0.1", 0), "/here/").expect("a free port");
        let mut stream = TcpStream::connect(server.address).expect("it listens");
        write!(stream, "GET /here/Cargo.toml HTTP/1.1\r\nHost: x\r\n\r\n").expect("it reads");
        let mut text = String::new();
        stream.read_to_string(&mut text).expect("it answers");
        let (head, body) = text.split_once("\r\n\r\n").expect("a head and a body");
        assert!(head.starts_with("HTTP/1.1 200 OK"), "{head}");
        assert_eq!(
            body,
            fs::read_to_string(top.join("Cargo.toml")).expect("it is there")
        );
    }
}
