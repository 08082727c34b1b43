//! The least-squares engine on the 27 certified nonlinear regressions, as a Markdown document:
//! `cargo run --release --no-default-features --example nist-table`.
#![allow(clippy::print_stdout)]

#[path = "../tests/support/nist.rs"]
mod nist;

use heatset::fit::least_squares::{Settings, minimize_from};
use nist::{Line, Reference, Regression, references, table};

const HEAD: &str = "\
# The least-squares engine on the 27 certified nonlinear regressions

Made by these two commands (the second needs Python with NumPy and SciPy):

```sh
cargo run --release --no-default-features --example nist-table > shared/verification/nist-strd.md
python3 benches/peers/nist.py >> shared/verification/nist-strd.md
```

Source of problems, starts and certified values: NIST Statistical Reference Datasets, Nonlinear \
Regression, <https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml>, as carried by the Python \
package lmfit 1.3.4. The optimum to 16 digits, and the standard deviations there, were computed from \
the same data with multiple precision (mpmath).

Nothing is tuned to a problem: default settings, derivatives by dual numbers (crate num-dual), no \
bounds, no change of variables. Where a search ends elsewhere than in a minimum, the engine tries the \
same start again with a more careful first step. `cargo test --test nist_strd` holds the counts below.

## heatset, from both starts

Digits: -log10 of the relative error of the worst parameter, or of the worst standard error. \
Certified values are printed with 11 digits, so about 11 is the most that can be seen against them; \
the optimum shows up to 16. Iterations count all tries from the start.

| problem | difficulty | start | end | parameters, certified | parameters, optimum | standard errors, certified | standard errors, optimum | iterations |
|---|---|---|---|---|---|---|---|---|";

/// Starts from which the first try ends in a minimum.
fn solved_at_once(reference: &Reference) -> usize {
    let solved = |start: &&Vec<f64>| {
        let (minimum, _) = minimize_from(Regression::new(reference), start, Settings::default());
        minimum.termination.was_successful()
    };
    reference.starts.iter().filter(solved).count()
}

fn main() {
    let lines = table();
    println!("{HEAD}");
    for line in &lines {
        println!(
            "| {} | {} | {} | {} | {:.1} | {:.1} | {:.1} | {:.1} | {} |",
            line.name,
            line.difficulty.to_lowercase(),
            line.start,
            line.termination.in_words(),
            line.certified_digits,
            line.digits,
            line.error_digits,
            line.polished_error_digits,
            line.iterations
        );
    }
    let count = |test: &dyn Fn(&Line) -> bool| lines.iter().filter(|line| test(line)).count();
    let at_once: usize = references().iter().map(solved_at_once).sum();
    let claims = |line: &Line| line.termination.was_successful();
    println!("\n| of {} lines | |\n|---|---|", lines.len());
    for digits in [4.0, 6.0, 8.0, 10.0] {
        println!(
            "| at least {digits:.0} digits in every parameter, against the optimum | {} |",
            count(&|line| line.digits >= digits)
        );
    }
    for (text, found) in [
        (
            "at least 6 digits in every standard error, against the certified ones",
            count(&|line| line.error_digits >= 6.0),
        ),
        (
            "at least 6 digits in every standard error, against the optimum's",
            count(&|line| line.polished_error_digits >= 6.0),
        ),
        (
            "success claimed with under 6 digits: false claims",
            count(&|line| claims(line) && line.digits < 6.0),
        ),
        ("solved at the first try, no start tried again", at_once),
        (
            "no success claimed though 6 digits stand",
            count(&|line| !claims(line) && line.digits >= 6.0),
        ),
    ] {
        println!("| {text} | {found} |");
    }
    println!(
        "\nLanczos1: its residuals are the rounding of the data's own printed digits, so its residual \
         sum of squares, and with it the standard errors, can be had to three or four digits only."
    );
}
