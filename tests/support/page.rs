//! A local page for tests: the program itself, spoken to over a socket.
#![allow(dead_code, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// Longest wait for an answer: a test machine that does much else is slow.
const ANSWER_WITHIN: Duration = Duration::from_secs(120);

/// A page that runs until it is dropped.
pub struct Page {
    child: Child,
    pub address: SocketAddr,
}

/// What came back.
#[derive(Debug, Clone)]
pub struct Reply {
    pub status: u16,
    /// Names in small letters.
    pub headers: Vec<(String, String)>,
    pub body: String,
}

impl Reply {
    /// The value of a header.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers
            .iter()
            .find(|(key, _)| key == name)
            .map(|(_, value)| value.as_str())
    }
}

impl Page {
    /// Starts `heatset page --port 0` with these arguments.
    pub fn start(args: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_heatset"))
            .args(["page", "--port", "0"])
            .args(args)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut said = BufReader::new(child.stdout.take().unwrap());
        let mut line = String::new();
        let address = loop {
            line.clear();
            assert!(
                said.read_line(&mut line).unwrap() > 0,
                "the page did not start"
            );
            let found = line
                .split_whitespace()
                .find_map(|word| word.strip_prefix("http://"));
            if let Some(address) = found {
                break address.trim_end_matches('/').parse().unwrap();
            }
        };
        Self { child, address }
    }

    /// Tells it to stop, as Ctrl-C does; how long it takes to end.
    pub fn interrupt(mut self) -> Duration {
        let begun = std::time::Instant::now();
        let told = Command::new("kill")
            .args(["-INT", &self.child.id().to_string()])
            .status()
            .unwrap();
        assert!(told.success());
        assert!(self.child.wait().unwrap().success());
        begun.elapsed()
    }

    /// The Host that a browser would send.
    pub fn host(&self) -> String {
        self.address.to_string()
    }

    /// Gets a path.
    pub fn get(&self, path: &str) -> Reply {
        self.get_with(path, &[])
    }

    /// Gets a path with further headers.
    pub fn get_with(&self, path: &str, headers: &[(&str, &str)]) -> Reply {
        let mut all = vec![("Host", self.host())];
        all.extend(
            headers
                .iter()
                .map(|(name, value)| (*name, (*value).to_owned())),
        );
        self.send("GET", path, &all, b"")
    }

    /// Posts a form.
    pub fn post_form(&self, path: &str, pairs: &[(&str, &str)]) -> Reply {
        let body: Vec<String> = pairs
            .iter()
            .map(|(key, value)| format!("{}={}", encoded(key), encoded(value)))
            .collect();
        let kind = "application/x-www-form-urlencoded";
        self.post(path, kind, body.join("&").as_bytes())
    }

    /// Posts one file as a browser's form does.
    pub fn post_file(&self, path: &str, field: &str, name: &str, content: &[u8]) -> Reply {
        let mut body = format!(
            "--edge\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"{name}\"\r\n\
             Content-Type: application/octet-stream\r\n\r\n"
        )
        .into_bytes();
        body.extend_from_slice(content);
        body.extend_from_slice(b"\r\n--edge--\r\n");
        self.post(path, "multipart/form-data; boundary=edge", &body)
    }

    fn post(&self, path: &str, kind: &str, body: &[u8]) -> Reply {
        let headers = [
            ("Host", self.host()),
            ("Origin", format!("http://{}", self.host())),
            ("Content-Type", kind.to_owned()),
        ];
        self.send("POST", path, &headers, body)
    }

    /// Sends a request as it stands and reads the reply.
    pub fn send(&self, method: &str, path: &str, headers: &[(&str, String)], body: &[u8]) -> Reply {
        let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        for (name, value) in headers {
            head.push_str(&format!("{name}: {value}\r\n"));
        }
        if !body.is_empty() || method == "POST" {
            head.push_str(&format!("Content-Length: {}\r\n", body.len()));
        }
        head.push_str("\r\n");
        let mut stream = self.connect();
        stream.write_all(head.as_bytes()).unwrap();
        stream.write_all(body).unwrap();
        let mut raw = Vec::new();
        stream.read_to_end(&mut raw).unwrap();
        reply(&raw)
    }

    /// A connection of one's own.
    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(ANSWER_WITHIN)).unwrap();
        stream
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A text as it stands in a query.
pub fn encoded(text: &str) -> String {
    text.bytes()
        .map(|byte| match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' => {
                char::from(byte).to_string()
            }
            _ => format!("%{byte:02X}"),
        })
        .collect()
}

fn reply(raw: &[u8]) -> Reply {
    let end = raw
        .windows(4)
        .position(|four| four == b"\r\n\r\n")
        .unwrap_or_else(|| panic!("no reply: {:?}", String::from_utf8_lossy(raw)));
    let head = String::from_utf8_lossy(&raw[..end]).into_owned();
    let mut lines = head.lines();
    let status = lines
        .next()
        .unwrap()
        .split(' ')
        .nth(1)
        .unwrap()
        .parse()
        .unwrap();
    let headers: Vec<(String, String)> = lines
        .filter_map(|line| line.split_once(": "))
        .map(|(name, value)| (name.to_ascii_lowercase(), value.to_owned()))
        .collect();
    let chunked = headers
        .iter()
        .any(|(name, value)| name == "transfer-encoding" && value == "chunked");
    let body = &raw[end + 4..];
    let body = if chunked {
        unchunked(body)
    } else {
        body.to_vec()
    };
    Reply {
        status,
        headers,
        body: String::from_utf8_lossy(&body).into_owned(),
    }
}

fn unchunked(mut rest: &[u8]) -> Vec<u8> {
    let mut whole = Vec::new();
    while let Some(end) = rest.windows(2).position(|two| two == b"\r\n") {
        let size = usize::from_str_radix(std::str::from_utf8(&rest[..end]).unwrap(), 16).unwrap();
        if size == 0 {
            break;
        }
        whole.extend_from_slice(&rest[end + 2..end + 2 + size]);
        rest = &rest[end + 4 + size..];
    }
    whole
}
