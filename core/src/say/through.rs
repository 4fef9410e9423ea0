//! What is said of boxes that go to a buyer unopened. A buyer hears box numbers and fish, and nothing of the house.

use super::place;
use super::standing::{Contents, contents};

/// Boxes and the buyer they go to.
pub fn boxes_to(numbers: &[u32], buyer: &str) -> String {
    format!("{} straight through to {buyer}, unopened", boxes(numbers))
}

/// What leaves with them: fish as listed, `None` where the list is to come; boxes of the list that were opened and stay.
pub fn sent_on(fish: Option<u32>, opened: &[u32], to_go: usize) -> String {
    let fish = match fish {
        Some(fish) => format!("{} fish as listed", super::import::thousands(fish.into())),
        None => "list to come, the buyer is told then".to_owned(),
    };
    let stay = match opened {
        [] => String::new(),
        [one] => format!("box {one} was opened and stays"),
        several => format!("{} were opened and stay", boxes(several)),
    };
    super::join(&[&fish, &stay, &super::to_go(to_go)])
}

/// One box without a list left unopened.
pub fn unlisted_sent_on(buyer: &str) -> String {
    format!("passed on unopened to {buyer}, list to come, the buyer is told then")
}

/// Every box was opened, is late or has left.
pub fn none_to_pass() -> String {
    "No unopened box is left to pass on. Nothing recorded.".to_owned()
}

/// All boxes of a consignment are meant, and several are open.
pub fn whose(suppliers: &[String]) -> String {
    format!("All unopened boxes of which: {}?", suppliers.join(" or "))
}

/// To the buyer: boxes are on the way unopened, with what the list says is in them.
pub fn on_the_way(boxes: &[(u32, Vec<Contents>)], cautions: &[String]) -> String {
    let listed = boxes.iter().any(|(_, inside)| inside.iter().any(|line| line.fish > 0));
    let head = if listed { "On the way to you unopened, as listed:" } else { "On the way to you unopened:" };
    told(head, boxes, cautions, "Photograph each box before you open it.")
}

/// To the buyer: the list of boxes that left before it has come.
pub fn list_came(boxes: &[(u32, Vec<Contents>)], cautions: &[String]) -> String {
    told("The list of your unopened boxes has come:", boxes, cautions, "")
}

/// To the buyer: the list of boxes that left was corrected.
pub fn list_corrected(boxes: &[(u32, Vec<Contents>)], cautions: &[String]) -> String {
    told("Correction by the packer's list of your unopened boxes:", boxes, cautions, "")
}

/// To the buyer: boxes are not on the way after all.
pub fn not_on_the_way(numbers: &[u32]) -> String {
    let is = if numbers.len() == 1 { "is" } else { "are" };
    format!("Correction: {} {is} not on the way to you yet.", boxes(numbers))
}

/// To the buyer: what was told of the contents of boxes no longer stands.
pub fn list_taken_back(numbers: &[u32]) -> String {
    let boxes = boxes(numbers);
    format!("Correction: what you were told is in {boxes} no longer stands. You will hear when the list comes again.")
}

fn told(head: &str, boxes: &[(u32, Vec<Contents>)], cautions: &[String], foot: &str) -> String {
    let mut lines = vec![head.to_owned()];
    for (number, inside) in boxes {
        let inside: Vec<Contents> = inside.iter().filter(|line| line.fish > 0).cloned().collect();
        let inside =
            if inside.is_empty() { "the list is not here yet, you will be told".to_owned() } else { contents(&inside) };
        lines.push(format!("box {number}: {inside}"));
    }
    lines.extend(cautions.iter().cloned());
    lines.extend(Some(foot.to_owned()).filter(|foot| !foot.is_empty()));
    lines.join("\n")
}

fn boxes(numbers: &[u32]) -> String {
    let names: Vec<String> = numbers.iter().map(u32::to_string).collect();
    let word = if numbers.len() == 1 { "box" } else { "boxes" };
    format!("{word} {}", place::listed(&names))
}
