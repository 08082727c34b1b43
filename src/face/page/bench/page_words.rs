//! Messages of the rooms below name options of the command line; here they name what is on the page.

/// What a message says, and what it says here.
const WORDS: [(&str, &str); 24] = [
    (
        "name another sheet with --worksheet:",
        "choose another worksheet here:",
    ),
    (
        "name one with --worksheet:",
        "show one in your spreadsheet and send it again:",
    ),
    (
        ", or hold a parameter at a known value, --hold initial=1.5mPa.s",
        ", or hold a parameter at a known value under 'More', such as the initial reading at 1.5mPa.s",
    ),
    (
        "give a published value, --prior activation_energy=390kJ/mol:80kJ/mol (or --hold it)",
        "give a published value under 'More', such as an activation energy of 390kJ/mol, standard deviation 80kJ/mol (or hold it)",
    ),
    (
        "or hold a known value, --hold plateau=…",
        "or hold a known plateau under 'More'",
    ),
    (
        "look at the readings with 'heatset check'",
        "look at what the table cannot tell",
    ),
    ("--law linear", "the law 'linear'"),
    ("another --law", "another law"),
    ("--error absolute", "'the same everywhere' as scatter"),
    (
        "and --error given needs one",
        "and 'as given' as scatter needs one",
    ),
    ("--error relative", "'a share of the reading' as scatter"),
    ("(to fix it, use --hold)", "(to fix it, hold it)"),
    (
        "and give it, --warm-up 40s",
        "and give it as the lag under 'Warm-up'",
    ),
    ("--interval bootstrap", "intervals by bootstrap"),
    ("--order", "'Order'"),
    ("--dose-lag", "'Dose before setting'"),
    (
        "--extrapolate",
        "'heatset' with --extrapolate on the command line",
    ),
    ("a smaller --force", "a smaller limit"),
    ("--shear-rate 10/s, or ", ""),
    (
        "a smaller --friction if yours was measured",
        "a smaller friction of the stopper, if yours was measured",
    ),
    (
        "What helps: --warm-up syringe, which computes it, or --warm-up with the lag of your syringe",
        "What helps: fit with the warm-up of your syringe, by its lag or by conduction",
    ),
    (
        "What helps: --warm-up syringe, or the lag of your syringe",
        "What helps: fit with the warm-up of your syringe, by its lag or by conduction",
    ),
    ("What helps: --warm-up ", "What helps: a warm-up lag of "),
    (
        "; make it again with 'heatset fit'",
        "; fit the table again",
    ),
];

/// A message in the words of the page.
pub(super) fn here(message: &str) -> String {
    WORDS.iter().fold(message.to_owned(), |text, (from, to)| {
        text.replace(from, to)
    })
}

#[cfg(test)]
mod tests {
    use super::WORDS;

    /// What passes a needle is found with a wider needle, a slower push or less heat, never a harder push.
    #[test]
    fn no_word_of_the_page_proposes_a_harder_push() {
        for (_, here) in WORDS {
            for harder in ["higher limit", "larger limit", "harder", "more force"] {
                assert!(!here.contains(harder), "{here}");
            }
        }
    }
}
