use super::lines;
use crate::say::packing::*;

#[test]
fn one_of_a_kind_is_said_as_one() {
    let place = place(Some("PL"), 12);
    insta::assert_snapshot!(lines([
        boxes_differ(&place, 1, 2),
        boxes_differ(&place, 2, 1),
        values_missing(None, "G", "", 1, 7, "no saved value"),
        more_questions(1),
        two_prices("Neon tetra", None, "0.07", "0.08"),
        invoice_total_differs(&place, 500, 510, 0),
    ]), @r"
    Sheet PL, row 12: 1 box is stated, 2 are listed. Is one missing?
    Sheet PL, row 12: 2 boxes are stated, 1 is listed. Is one missing?
    Row 7: column G has no usable value in 1 cell (no saved value); read as blank. Can the file be saved again with its values?
    And 1 more question of this kind. Is it the right file?
    The invoice has two prices for Neon tetra: 0.07 and 0.08. Which holds?
    Sheet PL, row 12: the invoice counts 500 fish, the packing list 510. Which is right?
    ");
}
