//! The rooms of charts and of a session: what a browser is shown is what the command line says.
#![cfg(feature = "page")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "support/page_bytes.rs"]
mod page;

use page::{Page, escaped};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex, Weak};

/// The demo calibration in a folder, as `heatset demo` writes it, and a page that stands on it, for the
/// tests that change nothing.
struct Quiet {
    folder: tempfile::TempDir,
    page: Page,
}

impl Quiet {
    fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("demo");
        served(&["demo", "--out", out.to_str().unwrap()]);
        let page = Page::start(&[calibration_in(folder.path()).to_str().unwrap()]);
        Self { folder, page }
    }

    fn calibration(&self) -> PathBuf {
        calibration_in(self.folder.path())
    }

    fn get(&self, path: &str) -> page::Reply {
        self.page.get(path)
    }

    /// What a command writes for these words, CAL standing for the calibration.
    fn written(&self, name: &str, words: &str) -> Vec<u8> {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join(name);
        let cal = self.calibration();
        let mut arguments: Vec<&str> = words
            .split(' ')
            .map(|word| {
                if word == "CAL" {
                    cal.to_str().unwrap()
                } else {
                    word
                }
            })
            .collect();
        arguments.extend(["--out", out.to_str().unwrap()]);
        served(&arguments);
        std::fs::read(out).unwrap()
    }
}

fn calibration_in(folder: &Path) -> PathBuf {
    folder.join("demo/demo-calibration.json")
}

/// Shared while any test holds it; it ends with the last of them, and its server with it.
fn quiet() -> Arc<Quiet> {
    static SHARED: Mutex<Weak<Quiet>> = Mutex::new(Weak::new());
    let mut shared = SHARED.lock().unwrap();
    shared.upgrade().unwrap_or_else(|| {
        let new = Arc::new(Quiet::start());
        *shared = Arc::downgrade(&new);
        new
    })
}

/// Standard output of a command that is served.
fn served(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
        .args(arguments)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{arguments:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

const RASTER: [&str; 2] = ["\u{89}PNG", "image/png"];

#[test]
fn a_picture_is_byte_for_byte_the_command_s() {
    let quiet = quiet();
    for (path, name, words) in [
        (
            "/charts/picture.svg?kind=firmness&blend=ha-30",
            "a.svg",
            "chart firmness CAL --blend ha-30",
        ),
        (
            "/charts/picture.svg?kind=force&blend=plain&at_C=85&push_N=15&flow_mL_per_min=0.5&syringe=3mL&size=1600x900&title=Push",
            "b.svg",
            "chart force CAL --blend plain --at 85C --force 15N --flow 0.5mL/min --syringe 3mL --size 1600x900 --title Push",
        ),
        (
            "/charts/picture.svg?kind=history&blend=plain&at_F=185&heat_time_s=420&cool_time_min=5",
            "c.svg",
            "chart history CAL --blend plain --at 85C --heat-time 7min --cool-time 5min",
        ),
        (
            "/charts/picture.svg?kind=window&blend=plain&gauge=30&warm_up=lag&lag_s=35",
            "d.svg",
            "chart window CAL --blend plain --gauge 30 --warm-up 35s",
        ),
        (
            "/charts/picture.svg?kind=consequences&blend=plain&at_C=83&heat_time_min=20&gauge=30&push_N=18&syringe=3mL",
            "c2.svg",
            "chart consequences CAL --blend plain --at 83C --heat-time 20min --gauge 30 --force 18N --syringe 3mL",
        ),
        (
            "/charts/picture.png?kind=rates&blend=plain&own_size=400x300",
            "e.png",
            "chart rates CAL --blend plain --size 400x300",
        ),
    ] {
        let shown = quiet.get(path);
        assert_eq!(shown.status, 200, "{path}: {}", shown.text());
        assert!(shown.body == quiet.written(name, words), "{path}");
        let kind = if path.contains(".png") {
            RASTER[1]
        } else {
            "image/svg+xml"
        };
        assert_eq!(shown.header("content-type"), Some(kind));
    }
}

#[test]
fn a_view_shows_its_picture_by_address_and_says_what_it_finds() {
    let quiet = quiet();
    let view = quiet.get("/charts?kind=window&blend=plain&gauge=30&at_C=85");
    let html = view.text();
    assert_eq!(view.status, 200);
    let (_, image) = html.split_once("<img").unwrap();
    let (image, _) = image.split_once('>').unwrap();
    let of = |name: &str| {
        let (_, value) = image.split_once(&format!("{name}=\"")).unwrap();
        value.split('"').next().unwrap().replace("&amp;", "&")
    };
    let picture = quiet.get(&of("src"));
    assert_eq!(picture.status, 200);
    // The SVG names itself by what it finds, and so does the view.
    assert!(
        picture
            .text()
            .contains(&format!("<title>{}</title>", of("alt")))
    );
    let part = quiet
        .page
        .part("/charts?kind=window&blend=plain&gauge=30&at_C=85", "answer");
    assert!(part.text().starts_with("<section class=\"card answer\">"));
    let saved = quiet.get(&format!("{}&save=yes", of("src")));
    assert_eq!(
        saved.header("content-disposition"),
        Some("attachment; filename=\"heatset-window.svg\"")
    );
    assert!(html.contains("INVENTED DATA"));
}

/// The room of heating shares its keys: 'own' is a needle of a known bore, 'any' whichever will do.
#[test]
fn what_the_room_of_heating_hands_over_is_understood() {
    let quiet = quiet();
    let own = "kind=window&blend=plain&gauge=own&bore_mm=0.21&length=13mm&push_g=1000&seconds_per_tenth_mL=6&warm_up=as-calibrated";
    // 1000 gf are 9.80665 N (CGPM 1901); 6 s for a tenth of a millilitre are 1 mL/min.
    let told = "chart window CAL --blend plain --bore 0.21mm --force 9.80665N --flow 1mL/min";
    let shown = quiet.get(&format!("/charts/picture.svg?{own}"));
    assert_eq!(shown.status, 200, "{}", shown.text());
    assert!(shown.body == quiet.written("o.svg", told));
    let any = quiet.get("/charts?kind=window&blend=plain&gauge=any");
    assert!(any.text().contains("<img"));
    let none = quiet
        .get("/charts?kind=window&blend=plain&gauge=own")
        .text();
    assert!(none.contains("No needle was named") && none.contains("'Bore' 0.16mm"));
    let sheet = quiet
        .get("/session?blend=plain&gauge=30&at_F=185&push_kgf=2")
        .text();
    assert!(sheet.contains("30G") && sheet.contains("at 85 °C"));
    assert!(sheet.contains("/heat?") && sheet.contains("gauge=30"));
}

#[test]
fn a_size_that_would_eat_the_memory_is_refused_at_its_field() {
    let quiet = quiet();
    for size in [
        "8000x8000",
        "6000x3500",
        "100x100",
        "9000x300",
        "big",
        "1e9x1",
    ] {
        let path = format!("kind=rates&own_size={size}");
        let view = quiet.get(&format!("/charts?{path}")).text();
        assert!(view.contains("id=\"field-own_size\""), "{size}");
        let fault = view.split("id=\"field-own_size-fault\">").nth(1).unwrap();
        assert!(!fault.starts_with('<'), "{size}: no words at the field");
        assert!(view.contains("aria-invalid=\"true\""), "{size}");
        let picture = quiet.get(&format!("/charts/picture.png?{path}"));
        assert_eq!(picture.status, 422, "{size}");
    }
    // ISO 216: a sheet of A3 is 297 by 420 mm; 300 dots an inch.
    let wall = quiet.get("/charts/picture.svg?kind=rates&size=4961x3508");
    assert_eq!(wall.status, 200);
}

#[test]
fn every_fault_stands_at_its_field_and_what_was_typed_stays() {
    let quiet = quiet();
    let view = quiet
        .get("/charts?kind=force&at_C=abc&length_mm=NaN&push_N=-3&own_size=9")
        .text();
    for (key, typed) in [("at_C", "abc"), ("length_mm", "NaN"), ("push_N", "-3")] {
        let fault = view
            .split(&format!("id=\"field-{key}-fault\">"))
            .nth(1)
            .unwrap();
        assert!(!fault.starts_with('<'), "{key}: no words at the field");
        assert!(view.contains(&format!("name=\"{key}\" value=\"{typed}\"")));
    }
}

#[test]
fn no_value_reaches_a_file() {
    let quiet = quiet();
    let folder = tempfile::tempdir().unwrap();
    let trace = folder.path().join("trace.csv");
    std::fs::write(&trace, "time_s,temp_C\n0,25\n60,80\n120,85\n").unwrap();
    let name = trace.to_str().unwrap();
    // The same name is a trace at a terminal; here it is no warm-up.
    for (key, value) in [("warm_up", name.to_owned()), ("lag_s", name.to_owned())] {
        let path = format!(
            "/charts/picture.svg?kind=force&blend=plain&{key}={}",
            escaped(&value)
        );
        let shown = quiet.get(&path).text();
        assert!(!shown.contains("trace.csv,"), "{key}");
        let told = quiet.written("f.svg", "chart force CAL --blend plain");
        assert!(
            shown.contains("That cannot be answered") || shown.as_bytes() == told,
            "{key} was read as something"
        );
    }
    let target = folder.path().join("written.svg");
    for value in [
        format!("85C --out={}", target.display()),
        format!("--out={}", target.display()),
    ] {
        let path = format!("/charts?kind=force&at_C={}", escaped(&value));
        assert_eq!(quiet.get(&path).status, 200);
    }
    assert!(!target.exists());
}

#[test]
fn a_sheet_is_the_command_s_sheet() {
    let quiet = quiet();
    let asked = "blend=plain&at_C=86&gauge=27&plasma_mL=8&start=09:30&lot=L-0042&warm_up=lag&lag_s=40&cool_until_C=35";
    let words = "sheet CAL --blend plain --at 86C --gauge 27 --plasma 8mL --start 09:30 --lot L-0042 --warm-up 40s --cool-until 35C";
    let page = &quiet.page;
    let csv = page.get(&format!("/session/sheet.csv?{asked}"));
    assert_eq!(csv.text().as_bytes(), quiet.written("s.csv", words));
    let html = page.get(&format!("/session/sheet.html?{asked}"));
    assert_eq!(html.text().as_bytes(), quiet.written("s.html", words));
    let view = page.get(&format!("/session?{asked}")).text();
    for word in ["7 syringes", "09:30:00", "A1", "B1", "INVENTED DATA"] {
        assert!(view.contains(word), "{word}");
    }
    // The first line answers.
    let text = String::from_utf8(quiet.written("s.txt", words)).unwrap();
    let first = text
        .lines()
        .find(|line| line.contains("syringes in"))
        .unwrap();
    assert!(view.contains(&format!("<p class=\"first\">{first}</p>")));
}

/// CSP 3, 'hash-source': the sum of the text of the style element, and of nothing else.
#[test]
fn paper_may_use_its_own_style_and_nothing_else() {
    let quiet = quiet();
    use base64::Engine as _;
    use sha2::{Digest, Sha256};
    for path in ["/session/sheet.html", "/session/labels.html"] {
        let reply = quiet.get(path);
        assert_eq!(reply.status, 200);
        let text = reply.text();
        let style = text.split("<style>").nth(1).unwrap();
        let style = style.split("</style>").next().unwrap();
        let sum = base64::engine::general_purpose::STANDARD.encode(Sha256::digest(style));
        let policy = reply.header("content-security-policy").unwrap();
        assert!(
            policy.contains(&format!("style-src 'sha256-{sum}'")),
            "{policy}"
        );
        assert!(policy.starts_with("default-src 'none'"), "{policy}");
        assert!(
            !policy.contains("unsafe") && !policy.contains("script"),
            "{policy}"
        );
    }
    let others = quiet.get("/session");
    let policy = others.header("content-security-policy").unwrap();
    assert!(policy.contains("style-src 'self'"), "{policy}");
}

#[test]
fn a_price_list_is_pasted_and_its_faults_are_told() {
    let quiet = quiet();
    let list = "item,unit_price,currency,per\nneedle,0.20,EUR,piece\nsyringe,0.50,EUR,piece\n";
    let asked = "blend=plain&at_C=86&gauge=27&syringes=6";
    let view = quiet
        .get(&format!("/session?{asked}&prices={}", escaped(list)))
        .text();
    // 6 times 0.20 and 6 times 0.50 are 4.20.
    assert!(view.contains("4.20 EUR"), "{view}");
    let view = quiet
        .get(&format!("/session?{asked}&prices={}", escaped("item\nx")))
        .text();
    let fault = view.split("id=\"field-prices-fault\">").nth(1).unwrap();
    assert!(!fault.starts_with('<'));
}

#[test]
fn without_a_log_the_page_says_how_to_start_with_one() {
    let quiet = quiet();
    let view = quiet.get("/session/log");
    assert_eq!(view.status, 200);
    assert!(view.text().contains("--log batches.db"));
    assert!(!quiet.get("/charts").text().contains("kind=batches"));
    let sent = quiet.page.post_form("/session/log", &[("lot", "C-17")]);
    assert_eq!(sent.status, 422);
}

const BATCH: [(&str, &str); 6] = [
    ("lot", "C-17"),
    ("blend", "plain"),
    ("at_C", "85"),
    ("heat_time_min", "8"),
    ("force_read_N", "4"),
    ("gauge", "27"),
];

fn batch<'a>(changed: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = BATCH
        .into_iter()
        .filter(|(key, _)| !changed.iter().any(|(other, _)| other == key));
    kept.chain(changed.iter().copied()).collect()
}

#[test]
fn a_batch_is_held_against_its_prediction_as_the_command_does() {
    let quiet = quiet();
    let folder = tempfile::tempdir().unwrap();
    let (here, there) = (
        folder.path().join("here.db"),
        folder.path().join("there.db"),
    );
    let cal = quiet.calibration();
    let page = Page::start(&[cal.to_str().unwrap(), "--log", here.to_str().unwrap()]);
    assert!(page.get("/session/log").text().contains("None yet"));
    let added = page.post_form("/session/log", &BATCH);
    assert_eq!(added.location(), "/session/log?added=1");
    served(&[
        "batches",
        "add",
        there.to_str().unwrap(),
        cal.to_str().unwrap(),
        "--lot",
        "C-17",
        "--blend",
        "plain",
        "--at",
        "85C",
        "--heat-time",
        "8min",
        "--force-read",
        "4N",
        "--gauge",
        "27",
    ]);
    let listed = |log: &Path| -> serde_json::Value {
        let words = served(&["batches", "list", log.to_str().unwrap(), "--json"]);
        serde_json::from_str(&words).unwrap()
    };
    let (ours, theirs) = (listed(&here), listed(&there));
    for key in [
        "z_sd",
        "inside",
        "calibration_sha256",
        "predicted_plunger_force_N",
        "lot",
        "accepted",
    ] {
        assert_eq!(ours["entries"][0][key], theirs["entries"][0][key], "{key}");
    }
    // A correction keeps the entry and counts in its place.
    let corrected = batch(&[("corrects", "1"), ("force_read_N", "4.5")]);
    assert_eq!(
        page.post_form("/session/log", &corrected).location(),
        "/session/log?added=2"
    );
    let again = page.post_form("/session/log", &corrected);
    assert_eq!(again.status, 422);
    assert!(again.text().contains("corrected already"));
    let view = page.get("/session/log").text();
    assert!(view.contains("corrected by 2"), "{view}");
    assert!(view.contains("corrects=2") && !view.contains("corrects=1"));
    assert!(view.contains("The chain is whole"));
    let csv = page.get("/session/log.csv");
    assert_eq!(csv.status, 200);
    assert!(csv.text().contains("C-17") && csv.text().contains("4.5"));
    assert!(!csv.text().contains(folder.path().to_str().unwrap()));
    assert_eq!(page.get("/session/log.svg").status, 200);
    let chart = page.get("/charts/picture.svg?kind=batches");
    assert_eq!(chart.status, 200);
    assert!(chart.text().contains("here.db"));
}

#[test]
fn names_and_what_is_lacking_are_refused_at_their_fields() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("log.db");
    let page = Page::start(&["--log", log.to_str().unwrap()]);
    for (key, value) in [
        ("lot", "Ada Example"),
        ("lot", "1961-04-12"),
        ("lot", ""),
        ("operator", "ada@example.org"),
        ("at_C", ""),
        ("heat_time_min", "never"),
        ("force_read_N", "-4"),
        ("gauge", "99"),
    ] {
        let reply = page.post_form("/session/log", &batch(&[(key, value)]));
        assert_eq!(reply.status, 422, "{key} {value}");
        let html = reply.text();
        assert!(html.contains("class=\"problem\""), "{key} {value}");
        // What was typed elsewhere is still there.
        assert!(
            html.contains("value=\"8\"") || key == "heat_time_min",
            "{key}"
        );
        if key != "gauge" {
            let fault = html
                .split(&format!("id=\"field-{key}-fault\">"))
                .nth(1)
                .unwrap();
            assert!(!fault.starts_with('<'), "{key} {value}");
        }
    }
    assert!(!log.exists(), "nothing was added");
    let foreign = page.send(
        "POST",
        "/session/log",
        &[("Origin", "http://elsewhere.example")],
        b"lot=C-17",
    );
    assert_eq!(foreign.status, 403);
}

#[test]
fn twenty_browsers_that_add_at_once_lose_nothing() {
    const BROWSERS: usize = 20;
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("log.db");
    let page = Page::start(&["--log", log.to_str().unwrap()]);
    let mut numbers: Vec<usize> = std::thread::scope(|scope| {
        let sent: Vec<_> = (0..BROWSERS)
            .map(|browser| {
                let page = &page;
                scope.spawn(move || {
                    let lot = format!("C-{browser}");
                    let force = format!("{}", 3.0 + 0.1 * browser as f64);
                    let pairs = [("lot", lot.as_str()), ("force_read_N", force.as_str())];
                    let reply = page.post_form("/session/log", &batch(&pairs));
                    let (_, number) = reply.location().split_once("added=").unwrap();
                    number.parse::<usize>().unwrap()
                })
            })
            .collect();
        sent.into_iter().map(|one| one.join().unwrap()).collect()
    });
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=BROWSERS).collect::<Vec<_>>());
    let words = served(&["batches", "check", log.to_str().unwrap()]);
    assert!(words.contains(&format!("{BROWSERS} entries")), "{words}");
    let listed = served(&["batches", "list", log.to_str().unwrap(), "--json"]);
    let listed: serde_json::Value = serde_json::from_str(&listed).unwrap();
    let mut lots: Vec<String> = listed["entries"]
        .as_array()
        .unwrap()
        .iter()
        .map(|entry| entry["lot"].as_str().unwrap().to_owned())
        .collect();
    lots.sort();
    lots.dedup();
    assert_eq!(lots.len(), BROWSERS);
}

/// Values that no field takes kindly.
fn nonsense(random: &mut ChaCha8Rng) -> String {
    const PIECES: [&str; 24] = [
        "1e308",
        "-1e308",
        "NaN",
        "inf",
        "-0",
        "0",
        "86",
        "86C",
        "9999999999999999999",
        "\u{0}",
        "<script>",
        "\"'",
        "--out=/tmp/x",
        "--",
        "-",
        "=",
        "%",
        "ä",
        "\u{202e}",
        "../../etc/passwd",
        "6min 10",
        "1/0",
        ",,,",
        "😀",
    ];
    let count = random.random_range(1..4);
    let mut text: String = (0..count)
        .map(|_| PIECES[random.random_range(0..PIECES.len())])
        .collect();
    if random.random_range(0..40) == 0 {
        text = text.repeat(300);
    }
    text
}

/// The names of the fields of a view.
fn names(html: &str) -> Vec<String> {
    let mut names: Vec<String> = html
        .split(" name=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .map(str::to_owned)
        .collect();
    names.sort();
    names.dedup();
    names
}

/// No field may bring the page down: words, and never a fault of the server's own.
#[test]
fn nonsense_in_any_field_is_answered_in_words() {
    const SEED: u64 = 20_260_706;
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("log.db");
    let page = Page::start(&["--log", log.to_str().unwrap()]);
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let kinds = [
        "firmness",
        "force",
        "window",
        "iso-force",
        "contributions",
        "consequences",
        "history",
        "syringes",
        "standing",
        "rates",
        "residuals",
        "batches",
    ];
    let mut views: Vec<String> = kinds
        .iter()
        .map(|kind| format!("/charts?kind={kind}"))
        .collect();
    views.push("/session?x=1".to_owned());
    let checked = |reply: page::Reply, what: &str| {
        assert!(
            matches!(reply.status, 200 | 303 | 404 | 413 | 422),
            "{what}: {}",
            reply.status
        );
        let html = reply.text();
        assert!(!html.contains("<script>"), "{what} came back as markup");
    };
    for view in &views {
        let html = page.get(view).text();
        for name in names(&html) {
            if name == "kind" || name == "generator" || name == "viewport" {
                continue;
            }
            let value = nonsense(&mut random);
            let path = format!("{view}&{name}={}", escaped(&value));
            checked(page.part(&path, "answer"), &path);
        }
        for path in [format!("{view}&cal=nope"), view.replace("kind=", "kind=x")] {
            checked(page.get(&path), &path);
        }
    }
    let form = page.get("/session/log").text();
    for name in names(&form) {
        let value = nonsense(&mut random);
        let reply = page.post_form("/session/log", &batch(&[(&name, &value)]));
        checked(reply, &format!("{name}={value:?}"));
        let path = format!("/session/log?{name}={}", escaped(&value));
        checked(page.get(&path), &path);
    }
    checked(
        page.send("POST", "/session/log", &[], &[0xff, 0x00, b'=', b'&']),
        "bytes",
    );
    assert_eq!(page.get("/session").status, 200);
}
