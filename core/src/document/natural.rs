//! Natural order of labels: CB2 before CB10.

use std::cmp::Ordering;

/// Compares two labels: runs of digits by their number, letters ignoring case. Labels that are
/// otherwise equal are ordered by their bytes, so the order is total.
///
/// ```
/// # use loomwright_core::document::natural_cmp;
/// assert!(natural_cmp("CB2", "CB10").is_lt());
/// assert!(natural_cmp("cb10", "CB2").is_gt());
/// ```
pub fn natural_cmp(a: &str, b: &str) -> Ordering {
    let (mut rest_a, mut rest_b) = (a, b);
    loop {
        let (Some(first_a), Some(first_b)) = (rest_a.chars().next(), rest_b.chars().next()) else {
            return rest_a.len().cmp(&rest_b.len()).then_with(|| a.cmp(b));
        };
        let order = if first_a.is_ascii_digit() && first_b.is_ascii_digit() {
            let (digits_a, digits_b) = (digits(&mut rest_a), digits(&mut rest_b));
            // Without leading zeros the longer number is larger.
            (digits_a.len(), digits_a).cmp(&(digits_b.len(), digits_b))
        } else {
            rest_a = &rest_a[first_a.len_utf8()..];
            rest_b = &rest_b[first_b.len_utf8()..];
            first_a.to_lowercase().cmp(first_b.to_lowercase())
        };
        if order.is_ne() {
            return order;
        }
    }
}

/// A text in lower case, for searching.
pub fn folded(text: &str) -> String {
    text.chars().flat_map(char::to_lowercase).collect()
}

/// Removes the run of digits at the start of `rest` and returns it without leading zeros.
fn digits<'t>(rest: &mut &'t str) -> &'t str {
    let end = rest
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(rest.len());
    let (run, after) = rest.split_at(end);
    *rest = after;
    run.trim_start_matches('0')
}

#[cfg(test)]
mod tests {
    use super::natural_cmp;

    #[test]
    fn numbers_count_as_numbers() {
        let mut labels = [
            "W10", "w2", "W2", "W", "W002B", "W2A18", "", "10", "9", "Ö1",
        ];
        labels.sort_by(|a, b| natural_cmp(a, b));
        assert_eq!(
            labels,
            [
                "", "9", "10", "W", "W2", "w2", "W2A18", "W002B", "W10", "Ö1"
            ]
        );
    }
}
