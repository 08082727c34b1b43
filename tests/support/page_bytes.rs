//! The local page as a browser reaches it: the program is started on a free port and spoken to by HTTP.
#![allow(dead_code, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// A page that runs until it is dropped.
pub struct Page {
    child: Child,
    /// Host and port.
    pub host: String,
}

/// What came back.
#[derive(Debug)]
pub struct Reply {
    pub status: u16,
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Reply {
    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// The first header of that name, in small letters.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers
            .iter()
            .find(|(known, _)| known == name)
            .map(|(_, value)| value.as_str())
    }

    /// Where it leads.
    pub fn location(&self) -> &str {
        assert_eq!(self.status, 303, "{}", self.text());
        self.header("location").expect("a redirect says where to")
    }
}

impl Page {
    /// Starts the page with these arguments, on a free port.
    pub fn start(arguments: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_heatset"))
            .args(["page", "--port", "0"])
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the page starts");
        let mut said = String::new();
        BufReader::new(child.stdout.take().unwrap())
            .read_line(&mut said)
            .unwrap();
        let host = said
            .split_once("http://")
            .and_then(|(_, rest)| rest.split_once('/'))
            .map(|(host, _)| host.to_owned())
            .unwrap_or_else(|| panic!("no address in {said:?}"));
        Self { child, host }
    }

    pub fn get(&self, path: &str) -> Reply {
        self.get_with(path, &[])
    }

    /// One part of a view, as the script asks for it.
    pub fn part(&self, path: &str, part: &str) -> Reply {
        self.get_with(path, &[("X-Heatset-Part", part)])
    }

    pub fn get_with(&self, path: &str, headers: &[(&str, &str)]) -> Reply {
        self.send("GET", path, headers, &[])
    }

    pub fn post_form(&self, path: &str, pairs: &[(&str, &str)]) -> Reply {
        let body: Vec<String> = pairs
            .iter()
            .map(|(key, value)| format!("{}={}", escaped(key), escaped(value)))
            .collect();
        let kind = ("Content-Type", "application/x-www-form-urlencoded");
        self.send("POST", path, &[kind], body.join("&").as_bytes())
    }

    /// A form with files: fields, then field, name and bytes of each file.
    pub fn post_file(
        &self,
        path: &str,
        fields: &[(&str, &str)],
        files: &[(&str, &str, &[u8])],
    ) -> Reply {
        const EDGE: &str = "----edge-of-a-part-7f3a";
        let mut body = Vec::new();
        for (name, value) in fields {
            write!(
                body,
                "--{EDGE}\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n"
            )
            .unwrap();
        }
        for (field, name, bytes) in files {
            write!(body, "--{EDGE}\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"{name}\"\r\nContent-Type: application/octet-stream\r\n\r\n").unwrap();
            body.extend_from_slice(bytes);
            body.extend_from_slice(b"\r\n");
        }
        write!(body, "--{EDGE}--\r\n").unwrap();
        let kind = format!("multipart/form-data; boundary={EDGE}");
        self.send("POST", path, &[("Content-Type", &kind)], &body)
    }

    /// Any request, with this body.
    pub fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Reply {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(300)))
            .unwrap();
        let mut head = format!(
            "{method} {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n",
            self.host
        );
        for (name, value) in headers {
            head.push_str(&format!("{name}: {value}\r\n"));
        }
        if method != "GET" {
            head.push_str(&format!("Content-Length: {}\r\n", body.len()));
        }
        head.push_str("\r\n");
        stream.write_all(head.as_bytes()).unwrap();
        // A body that is refused before it has all been read may end in a broken pipe.
        let _ = stream.write_all(body);
        let mut reader = BufReader::new(stream);
        let mut line = String::new();
        reader.read_line(&mut line).unwrap();
        let status = line
            .split(' ')
            .nth(1)
            .and_then(|code| code.parse().ok())
            .unwrap_or_else(|| panic!("no answer to {method} {path}: {line:?}"));
        let mut found = Vec::new();
        loop {
            let mut line = String::new();
            reader.read_line(&mut line).unwrap();
            let Some((name, value)) = line.trim_end().split_once(": ") else {
                break;
            };
            found.push((name.to_ascii_lowercase(), value.to_owned()));
        }
        let mut reply = Reply {
            status,
            headers: found,
            body: Vec::new(),
        };
        match reply.header("content-length") {
            Some(length) => {
                reply.body = vec![0; length.parse().unwrap()];
                reader.read_exact(&mut reply.body).unwrap();
            }
            None if reply.header("transfer-encoding") == Some("chunked") => {
                reply.body = chunks(&mut reader);
            }
            None => {
                reader.read_to_end(&mut reply.body).unwrap();
            }
        }
        reply
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn chunks(reader: &mut impl BufRead) -> Vec<u8> {
    let mut body = Vec::new();
    loop {
        let mut line = String::new();
        reader.read_line(&mut line).unwrap();
        let length = usize::from_str_radix(line.trim(), 16).unwrap();
        let mut chunk = vec![0; length];
        reader.read_exact(&mut chunk).unwrap();
        let mut end = String::new();
        reader.read_line(&mut end).unwrap();
        if length == 0 {
            return body;
        }
        body.extend(chunk);
    }
}

/// A text as it stands in a form or an address.
pub fn escaped(text: &str) -> String {
    text.bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' => {
                char::from(byte).to_string()
            }
            other => format!("%{other:02X}"),
        })
        .collect()
}
