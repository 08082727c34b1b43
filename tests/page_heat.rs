//! The heat room of the local page, over HTTP, as a browser asks it.
#![cfg(feature = "page")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "support/page.rs"]
mod page;

use assert_cmd::Command;
use page::{Page, Reply, encoded};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::io::{Read, Write};
use std::time::{Duration, Instant};

const PART: (&str, &str) = ("X-Heatset-Part", "answer");

/// The answer's part of an address.
fn part(page: &Page, query: &str) -> Reply {
    page.get_with(&format!("/heat?{query}"), &[PART])
}

/// Text of a page without its marks.
fn text_of(html: &str) -> String {
    let mut text = String::new();
    let mut inside = false;
    for letter in html.chars() {
        match letter {
            '<' => inside = true,
            '>' => inside = false,
            letter if !inside => text.push(letter),
            _ => {}
        }
    }
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&#39;", "'")
        .replace("&amp;", "&")
}

/// The first sentence of an answer.
fn sentence(reply: &Reply) -> String {
    let (_, from) = reply
        .body
        .split_once("<p class=\"first\">")
        .unwrap_or_else(|| panic!("no answer: {}", text_of(&reply.body)));
    text_of(from.split("</p>").next().unwrap())
}

/// The demo calibration as the page saves it, in a file.
fn saved_calibration(page: &Page) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let document = page.get("/calibrations/demo.json");
    assert_eq!(document.status, 200);
    std::fs::write(folder.path().join("cal.json"), document.body).unwrap();
    folder
}

fn command(folder: &tempfile::TempDir, args: &str) -> String {
    let out = Command::new(env!("CARGO_BIN_EXE_heatset"))
        .current_dir(folder.path())
        .args(args.split(' '))
        .output()
        .unwrap();
    assert!(
        out.status.success(),
        "{args}: {}",
        String::from_utf8_lossy(&out.stderr)
    );
    String::from_utf8(out.stdout).unwrap()
}

/// Sentence and further lines that the command prints of an answer, without its marks.
fn said(printed: &str) -> Vec<String> {
    printed
        .lines()
        .filter(|line| !line.starts_with("INVENTED") && !line.starts_with("EXTRAPOLATED"))
        .take_while(|line| !line.is_empty())
        .map(|line| line.trim().to_owned())
        .collect()
}

/// What the page says is what `heatset time` says for the same question, word by word.
#[test]
fn the_page_answers_as_the_command_does() {
    let page = Page::start(&[]);
    let folder = saved_calibration(&page);
    for (query, options) in [
        (
            "gauge=29&at_C=86&blend=plain",
            "--blend plain --at 86C --gauge 29",
        ),
        (
            "gauge=27&at_C=80&blend=ha-30&push_N=15&flow_mL_per_min=0.5&syringe=3mL",
            "--blend ha-30 --at 80C --gauge 27 --force 15N --flow 0.5mL/min --syringe 3mL",
        ),
        (
            "gauge=30&at_C=86&blend=plain&warm_up=lag&lag_s=40&least_push_N=4&friction_N=1",
            "--blend plain --at 86C --gauge 30 --warm-up 40s --least-force 4N --friction 1N",
        ),
        (
            "gauge=29&at_C=86&blend=plain&warm_up=syringe&syringe=5mL",
            "--blend plain --at 86C --gauge 29 --warm-up syringe --syringe 5mL",
        ),
        (
            "gauge=29&at_C=86&blend=plain&warm_up=syringe&syringe=5mL&filled_mL=4&stands_out_mm=9&open_end=yes&room_C=20",
            "--blend plain --at 86C --gauge 29 --warm-up syringe --syringe 5mL --filled 4mL --stands-out 9mm --open-end --ambient 20C",
        ),
        (
            "gauge=25&wall=thin&length_mm=25&at_C=94&extrapolate=yes&blend=plain&gel_temp_C=20",
            "--blend plain --at 94C --gauge 25 --wall thin --length 25mm --extrapolate --gel-temp 20C",
        ),
        (
            "gauge=33&at_C=90&blend=plain&push_N=5",
            "--blend plain --at 90C --gauge 33 --force 5N",
        ),
        (
            "gauge=any&at_C=86&blend=plain&push_N=12",
            "--blend plain --at 86C --gauge any --force 12N",
        ),
        (
            "bore_mm=0.2&bore_off_mm=0.01&at_C=82&ha_fraction=0.1&block_off_K=1&flow_off_mL_per_min=0.2&friction_off_N=0.5",
            "--ha-fraction 0.1 --at 82C --bore 0.2mm --bore-tolerance 0.01mm --block-tolerance 1K --flow-tolerance 0.2mL/min --friction-tolerance 0.5N",
        ),
    ] {
        let reply = part(&page, query);
        assert_eq!(reply.status, 200, "{query}: {}", text_of(&reply.body));
        let printed = said(&command(&folder, &format!("time cal.json {options}")));
        assert_eq!(sentence(&reply), printed[0], "{query}");
        let text = text_of(&reply.body);
        for line in printed[1..]
            .iter()
            .filter(|line| !line.starts_with("What helps:"))
        {
            assert!(text.contains(line), "{query}: {line}\n{text}");
        }
    }
}

/// BIPM: T/°F = 1.8 (T/K) - 459.67; 1 kgf = 9.80665 N. A kept address means the same in every unit.
#[test]
fn a_kept_address_reads_the_same_in_every_unit_shown() {
    let page = Page::start(&[]);
    let until = |query: &str| {
        let sentence = sentence(&part(&page, query));
        sentence.split_once(" until ").unwrap().1.to_owned()
    };
    let kept = until("gauge=29&at_C=86&push_N=15&flow_mL_per_min=1");
    for same in [
        "gauge=29&at_C=86&push_N=15&flow_mL_per_min=1&temp_in=F&force_in=kgf",
        "gauge=29&at_F=186.8&push_N=15&flow_mL_per_min=1",
        "gauge=29G&at=86C&push=15N&flow=60s%2FmL",
        "gauge=29&at_C=186.8F&push_kgf=1.529574&seconds_per_tenth_mL=6",
        // Of two the last counts.
        "gauge=29&at_F=170&at_C=86&push_N=9&push_g=1529.574",
    ] {
        assert_eq!(until(same), kept, "{same}");
    }
    let fahrenheit = page.get("/heat?gauge=29&at_C=86&temp_in=F");
    assert!(sentence(&fahrenheit).starts_with("At 186.8 °F"));
    assert!(fahrenheit.body.contains("name=\"at_F\" value=\"186.8\""));
    let seconds = part(
        &page,
        "gauge=29&at_C=86&push_N=15&flow_mL_per_min=1&time_in=s",
    );
    assert!(
        !sentence(&seconds).contains("min "),
        "{}",
        sentence(&seconds)
    );
}

#[test]
fn what_cannot_be_read_is_told_at_its_field_and_kept() {
    let page = Page::start(&[]);
    let reply = page.get("/heat?at_C=hot&length_mm=-3&lag_s=&gauge=29&push_N=0");
    assert_eq!(reply.status, 422);
    for (id, typed, words) in [
        ("at", "hot", "does not begin with a number"),
        ("length", "-3", "give a value above zero"),
        ("push", "0", "moves nothing"),
    ] {
        let field = reply.body.split(&format!(" id=\"{id}\"")).nth(1).unwrap();
        let field = &field[..field.find('>').unwrap()];
        assert!(field.contains(&format!("value=\"{typed}\"")), "{field}");
        assert!(field.contains("aria-invalid=\"true\""), "{field}");
        let below = reply
            .body
            .split(&format!("id=\"{id}-fault\">"))
            .nth(1)
            .unwrap();
        assert!(below.split("</p>").next().unwrap().contains(words), "{id}");
    }
    assert!(text_of(&reply.body).contains("3 things stand in the way"));
    // What is refused by the question as a whole stands at its field too, in this page's words.
    let outside = part(&page, "at_C=95");
    assert_eq!(outside.status, 422);
    assert!(outside.body.contains("data-fault=\"at\""));
    assert!(text_of(&outside.body).contains("tick 'Answer outside what was measured too'"));
    let loud = part(&page, "at_C=95&extrapolate=yes");
    assert_eq!(loud.status, 200);
    assert!(loud.body.contains("class=\"loud\" role=\"alert\""));
    assert!(text_of(&loud.body).contains("EXTRAPOLATED"));
    assert_eq!(
        part(&page, "at_C=99.5&extrapolate=yes").status,
        422,
        "boiling"
    );
}

/// A closed window says what would open it, and each way sets the control.
#[test]
fn an_empty_window_is_loud_and_offers_what_opens_it() {
    let page = Page::start(&[]);
    let reply = part(&page, "gauge=33&at_C=90&blend=plain&push_N=5");
    assert!(
        reply.body.contains("class=\"loud\" role=\"alert\""),
        "{}",
        reply.body
    );
    assert!(!reply.body.contains("push_N=6"));
    let links: Vec<&str> = reply
        .body
        .split("href=\"")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
        .filter(|link| link.starts_with("/heat?"))
        .collect();
    assert!(!links.is_empty());
    for link in links {
        let link = link.replace("&amp;", "&");
        let open = page.get_with(&link, &[PART]);
        assert_eq!(open.status, 200);
        assert!(
            !open.body.contains("class=\"loud\""),
            "{link}: {}",
            text_of(&open.body)
        );
    }
}

#[test]
fn a_page_of_an_answer_carries_everything_that_belongs_to_it() {
    let page = Page::start(&[]);
    let reply = page.get("/heat?gauge=29&at_C=86&heat_time_min=20&common_practice=yes");
    assert_eq!(reply.status, 200);
    let text = text_of(&reply.body);
    for words in [
        "INVENTED DATA",
        "Half of all syringes need 20 N by",
        "Least sure of:",
        "Heated 20 min the gel takes about",
        "The same push of 20 N, otherwise",
        "COMMON PRACTICE, NO SOURCE.",
        "is not known",
        "Stands on: invented demo bench",
        "Assumed: 1 mL syringe",
        "Bench and teaching aid, not a medical device",
        "Run sheet of this setting",
        "red",
        "Hub colours by ISO 6009",
        "Robinson et al. 2020",
    ] {
        assert!(text.contains(words), "{words}");
    }
    assert!(
        !text.contains(" --"),
        "an option of the command line on a page"
    );
    let part = part(&page, "gauge=29&at_C=86");
    assert!(!part.body.contains("<html"), "a part is no page");
    // The picture's address carries the question, and its words are its finding.
    let picture = reply.body.split("id=\"window-picture\"").nth(1).unwrap();
    let address = picture
        .split("src=\"")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap();
    let alt = picture
        .split("alt=\"")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap();
    let until = sentence(&reply);
    let until = until
        .split(" until ")
        .nth(1)
        .unwrap()
        .split(" of heating")
        .next()
        .unwrap();
    assert!(
        alt.contains(&format!("until {until}")),
        "{alt} against {until}"
    );
    for address in [
        address.to_owned(),
        address.replace("window.svg", "force.svg"),
    ] {
        let drawn = page.get(&address.replace("&amp;", "&"));
        assert_eq!(drawn.status, 200, "{address}");
        assert_eq!(drawn.header("content-type"), Some("image/svg+xml"));
        assert!(drawn.body.starts_with("<svg") || drawn.body.starts_with("<?xml"));
        assert!(drawn.body.to_lowercase().contains("invented data"));
    }
}

/// A modulus says nothing of a push: the page says so, and when a reading is reached.
#[test]
fn a_modulus_answers_for_readings_alone() {
    let folder = tempfile::tempdir().unwrap();
    let mut table = String::from("heat_temp_C,heat_time_min,modulus_Pa\n");
    // First order, log law, 0.002 /s at 80 °C and 250 kJ/mol, 20 to 2000 Pa, with 3 % to and fro.
    for celsius in [76.0_f64, 80.0, 84.0] {
        let rate = 2e-3 * (250e3 / 8.314_462_618 * (1.0 / 353.15 - 1.0 / (celsius + 273.15))).exp();
        for (place, minutes) in [1.0_f64, 3.0, 6.0, 10.0, 20.0, 40.0]
            .into_iter()
            .enumerate()
        {
            let set = 1.0 - (-rate * minutes * 60.0).exp();
            let wobble = if place % 2 == 0 { 1.03 } else { 0.97 };
            let modulus = 20.0 * 100.0_f64.powf(set) * wobble;
            table.push_str(&format!("{celsius},{minutes},{modulus}\n"));
        }
    }
    std::fs::write(folder.path().join("bench.csv"), table).unwrap();
    command(&folder, "fit bench.csv --law log --out cal.json");
    let cal = folder.path().join("cal.json");
    let page = Page::start(&[cal.to_str().unwrap()]);
    let asked = page.get("/heat");
    assert_eq!(asked.status, 200, "{}", text_of(&asked.body));
    assert!(sentence(&asked).contains("says nothing about a push through a needle"));
    assert!(!asked.body.contains("name=\"gauge\""));
    assert_eq!(asked.body.matches("INVENTED").count(), 0);
    // By hand: 200 Pa is half of the way on the logarithm, reached after ln 2 / 0.002 s = 5 min 47 s.
    let reply = part(&page, "at_C=80&least_reading=200");
    assert_eq!(reply.status, 200, "{}", text_of(&reply.body));
    let text = text_of(&reply.body);
    let half = text.split("Half of all syringes by ").nth(1).unwrap();
    assert!(
        half.starts_with("5 min 4") || half.starts_with("5 min 5"),
        "{half}"
    );
    assert_eq!(part(&page, "at_C=80&least_reading=2kPas").status, 422);
    assert_eq!(part(&page, "at_C=80&least_reading=9000").status, 422);
}

#[test]
fn status_codes_are_exact() {
    let page = Page::start(&[]);
    for (path, status) in [
        ("/heat", 200),
        ("/heat?cal=demo", 200),
        ("/heat?cal=0123456789ab", 404),
        ("/heat?blend=none", 422),
        ("/heat?gauge=99", 422),
        ("/heat/window.svg?gauge=29", 200),
        ("/heat/window.svg?gauge=99", 422),
        ("/heat/nothing.svg", 404),
        ("/heat/../../etc/passwd", 404),
    ] {
        assert_eq!(page.get(path).status, status, "{path}");
    }
    assert_eq!(page.post_form("/heat", &[("gauge", "29")]).status, 405);
    // No value is a path: nothing of a file comes back.
    let file = page.get("/heat?warm_up=%2Fetc%2Fpasswd&blend=..%2F..%2Fetc%2Fpasswd");
    assert_eq!(file.status, 422);
    assert!(!file.body.contains("root:"));
}

#[test]
fn only_the_page_itself_is_served() {
    let page = Page::start(&[]);
    let host = |host: &str| vec![("Host", host.to_owned())];
    let own = page.host();
    for (headers, status) in [
        (host(&own), 200),
        (host(&format!("localhost:{}", page.address.port())), 200),
        (host("rebound.example"), 403),
        (host("127.0.0.1:1"), 403),
        ([host(&own), host(&own)].concat(), 403),
        (
            [
                host(&own),
                vec![
                    ("Sec-Fetch-Site", "cross-site".to_owned()),
                    ("Sec-Fetch-Mode", "no-cors".to_owned()),
                ],
            ]
            .concat(),
            403,
        ),
        (
            [
                host(&own),
                vec![
                    ("Sec-Fetch-Site", "cross-site".to_owned()),
                    ("Sec-Fetch-Mode", "navigate".to_owned()),
                    ("Sec-Fetch-Dest", "document".to_owned()),
                ],
            ]
            .concat(),
            200,
        ),
        (embedded(&own, "cross-site", "iframe"), 403),
        (embedded(&own, "same-site", "iframe"), 403),
        (embedded(&own, "cross-site", "frame"), 403),
        (embedded(&own, "cross-site", "object"), 403),
        (embedded(&own, "cross-site", "embed"), 403),
        (embedded(&own, "same-origin", "iframe"), 200),
    ] {
        let reply = page.send("GET", "/heat", &headers, b"");
        assert_eq!(reply.status, status, "{headers:?}");
        guarded(&reply);
    }
    let foreign = [
        ("Host", own.clone()),
        ("Origin", "http://elsewhere.example".to_owned()),
    ];
    let reply = page.send("POST", "/calibrations", &foreign, b"x");
    assert_eq!(reply.status, 403);
    guarded(&reply);
    for path in [
        "/heat?gauge=99",
        "/nowhere",
        "/heat/window.svg",
        "/assets/page.css",
        "/assets/page.js",
    ] {
        guarded(&page.get(path));
    }
}

/// W3C, Fetch Metadata Request Headers: a frame, an object and an embedded view are navigated to, and
/// Sec-Fetch-Dest says what they are for.
fn embedded(own: &str, site: &str, what: &str) -> Vec<(&'static str, String)> {
    vec![
        ("Host", own.to_owned()),
        ("Sec-Fetch-Site", site.to_owned()),
        ("Sec-Fetch-Mode", "navigate".to_owned()),
        ("Sec-Fetch-Dest", what.to_owned()),
    ]
}

/// RFC 9110, 15.5.15: 414 where the address is longer than is read.
#[test]
fn an_address_over_the_limit_is_refused_in_words() {
    let page = Page::start(&[]);
    let of = |letters: usize| {
        let list = "a".repeat(letters);
        page.get(&format!("/session?prices={list}"))
    };
    let refused = of(17_000);
    assert_eq!(refused.status, 414);
    guarded(&refused);
    for word in ["over 16 kB", "What helps:", "price list", "--prices"] {
        assert!(refused.body.contains(word), "{word}: {}", refused.body);
    }
    assert_eq!(of(15_000).status, 200);
}

/// Senders who never end hold nobody up, and are sent away after half a minute (RFC 9110, 15.5.9: 408);
/// while all places are taken a newcomer is told at once.
#[test]
fn bodies_that_never_end_hold_nobody_up() {
    let page = Page::start(&[]);
    let begun = Instant::now();
    let mut slow: Vec<_> = (0..300)
        .map(|_| {
            let mut stream = page.connect();
            let head = format!(
                "POST /bench/table HTTP/1.1\r\nHost: {}\r\nContent-Type: multipart/form-data; boundary=e\r\nContent-Length: 1000000\r\n\r\n--e\r\n",
                page.host()
            );
            stream.write_all(head.as_bytes()).unwrap();
            stream
        })
        .collect();
    assert_eq!(page.get("/").status, 200);
    assert!(
        begun.elapsed() < Duration::from_secs(10),
        "others are served meanwhile: {:?}",
        begun.elapsed()
    );
    let mut answer = |place: usize| {
        let mut raw = Vec::new();
        let _ = slow[place].read_to_end(&mut raw);
        String::from_utf8_lossy(&raw).into_owned()
    };
    let newcomer = answer(299);
    assert!(newcomer.starts_with("HTTP/1.1 503"), "{newcomer}");
    assert!(begun.elapsed() < Duration::from_secs(20));
    let first = answer(0);
    assert!(first.starts_with("HTTP/1.1 408"), "{first}");
    assert!(first.contains("What helps"), "{first}");
    let closed = begun.elapsed();
    assert!(
        closed > Duration::from_secs(29) && closed < Duration::from_secs(45),
        "{closed:?}"
    );
}

/// No inline script or style, nothing from elsewhere, nobody's frame.
fn guarded(reply: &Reply) {
    let policy = reply
        .header("content-security-policy")
        .expect("a policy on every reply");
    assert!(policy.contains("default-src 'none'") && policy.contains("frame-ancestors 'none'"));
    assert!(!policy.contains("unsafe-inline"));
    assert_eq!(reply.header("x-content-type-options"), Some("nosniff"));
    assert!(!reply.body.contains(" style=\"") && !reply.body.contains("<style"));
}

/// A client that sends half a header holds nobody up, and is sent away after ten seconds.
#[test]
fn a_slow_client_is_closed_and_holds_nobody_up() {
    let page = Page::start(&[]);
    let begun = Instant::now();
    let mut slow: Vec<_> = (0..20)
        .map(|_| {
            let mut stream = page.connect();
            stream.write_all(b"GET /heat HTTP/1.1\r\nHost: ").unwrap();
            stream
        })
        .collect();
    assert_eq!(page.get("/cautions").status, 200);
    assert!(
        begun.elapsed() < Duration::from_secs(9),
        "others are served meanwhile"
    );
    let mut rest = Vec::new();
    // Closed, with or without a word.
    let _ = slow[0].read_to_end(&mut rest);
    let closed = begun.elapsed();
    assert!(
        closed > Duration::from_secs(8) && closed < Duration::from_secs(20),
        "{closed:?}"
    );
}

/// Nonsense in every field: words, and never an end of the program or of the request.
#[test]
fn no_nonsense_ends_in_anything_but_words() {
    const KEYS: [&str; 49] = [
        "gauge",
        "wall",
        "bore_basis",
        "length_mm",
        "bore_mm",
        "bore_off_mm",
        "syringe",
        "barrel_mm",
        "blend",
        "ha_fraction",
        "this_lot",
        "at_C",
        "at_F",
        "at",
        "extrapolate",
        "push_N",
        "push_kgf",
        "push_g",
        "flow_mL_per_min",
        "seconds_per_tenth_mL",
        "warm_up",
        "lag_s",
        "gel_temp_C",
        "start_temp_C",
        "room_C",
        "cool_until_C",
        "cool_time_min",
        "least_push_N",
        "least_reading",
        "friction_N",
        "friction_off_N",
        "flow_off_mL_per_min",
        "block_off_K",
        "altitude_m",
        "contact_W_per_m2K",
        "tissue_Pa",
        "filled_mL",
        "stands_out_mm",
        "open_end",
        "end_losses",
        "flow_index",
        "shear_rate_per_s",
        "heat_time_min",
        "heat_time_s",
        "common_practice",
        "temp_in",
        "time_in",
        "force_in",
        "cal",
    ];
    let page = Page::start(&[]);
    let long = "9".repeat(10_000);
    let values = [
        "",
        " ",
        "0",
        "-0",
        "-1",
        "1",
        "5",
        "29",
        "86",
        "90",
        "1e308",
        "1e-308",
        "-1e308",
        "1e400",
        "NaN",
        "inf",
        "-inf",
        "0x10",
        "1,5",
        "1;5",
        "86C",
        "12N",
        "1mL",
        "any",
        "own",
        "yes",
        "lag",
        "syringe",
        "hot",
        "thin",
        "minimum",
        "plain",
        "ha-30",
        "F",
        "kgf",
        "s",
        "demo",
        "\u{0}",
        "\u{202e}",
        "é°µ·",
        "'\"<script>",
        "../../etc/passwd",
        "%",
        "+",
        "&",
        "=",
        &long,
    ];
    let mut random = ChaCha8Rng::seed_from_u64(1);
    for turn in 0..240 {
        let pairs: Vec<String> = (0..random.random_range(1..6))
            .map(|_| {
                let key = KEYS[random.random_range(0..KEYS.len())];
                let value = values[random.random_range(0..values.len())];
                format!("{}={}", encoded(key), encoded(value))
            })
            .collect();
        let query = pairs.join("&");
        let path = match turn % 12 {
            0 => format!("/heat/window.svg?{query}"),
            _ => format!("/heat?{query}"),
        };
        let headers: &[(&str, &str)] = if turn % 6 == 1 { &[] } else { &[PART] };
        let reply = page.get_with(&path, headers);
        let shown: String = query.chars().take(200).collect();
        assert!(
            [200, 404, 422, 414, 431].contains(&reply.status),
            "{} of {shown}: {}",
            reply.status,
            text_of(&reply.body)
        );
        assert!(!reply.body.contains("<script>"), "{shown}");
        if reply.status == 422 {
            assert!(text_of(&reply.body).trim().len() > 20, "{shown}: no words");
        }
        guarded(&reply);
    }
    assert_eq!(page.get("/heat").status, 200, "still there");
}
