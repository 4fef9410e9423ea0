//! From what a row states to what is in each of its boxes. Pure arithmetic, section 3 of the contract.

use super::number::Count;

/// What a row states of its fish.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Stated {
    /// Fish in a bag.
    pub per_bag: Option<Count>,
    /// Fish in a box.
    pub per_box: Option<Count>,
    /// Fish of the row.
    pub total: Option<Count>,
    /// Bags, by a bags column.
    pub bags: Option<u64>,
    /// Whether that column counts the bags of each box.
    pub bags_per_box: bool,
}

/// What is doubtful about the row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// The total differs from what the other columns make: total, product.
    Product(u64, u64),
    /// The fish do not divide over the boxes.
    Remainder,
}

/// What each line of the row gets.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Share {
    /// Fish, free ones included.
    pub fish: u64,
    /// Free fish.
    pub free: u64,
    /// Bags.
    pub bags: Option<u64>,
    /// Whether the row stays one line without a box.
    pub whole: bool,
    /// What to ask.
    pub doubts: Vec<Doubt>,
}

/// Shares out a row over a number of boxes (at least one). `None` where no column holds a quantity.
pub fn share(stated: &Stated, boxes: u64) -> Option<Share> {
    match (stated.total, stated.per_box, stated.per_bag) {
        (Some(total), _, _) => Some(share_total(stated, total, boxes)),
        (None, Some(per_box), _) => Some(share_per_box(stated, per_box, boxes)),
        (None, None, Some(per_bag)) => Some(share_per_bag(stated, per_bag)),
        (None, None, None) => None,
    }
}

fn times(count: Count, factor: u64) -> Count {
    Count { fish: count.fish.saturating_mul(factor), free: count.free.saturating_mul(factor), bags: count.bags }
}

/// Fish of a box by bags. A count that names its own bags (`2 x 25`) is the fish of all of them.
fn product(per_bag: Count, bags: Option<u64>) -> Count {
    if per_bag.bags.is_some() { per_bag } else { times(per_bag, bags.unwrap_or(1)) }
}

fn share_per_bag(stated: &Stated, per_bag: Count) -> Share {
    let all = product(per_bag, stated.bags);
    Share { fish: all.fish, free: all.free, bags: stated.bags.or(per_bag.bags), ..Share::default() }
}

fn share_per_box(stated: &Stated, per_box: Count, boxes: u64) -> Share {
    let bags = match stated.bags {
        // Without a count per bag, plain bags are those of the row.
        Some(bags) if !stated.bags_per_box && stated.per_bag.is_none() => exact(bags, boxes),
        Some(bags) => Some(bags),
        None => per_box.bags,
    };
    let mut share = Share { fish: per_box.fish, free: per_box.free, bags, ..Share::default() };
    if let (Some(per_bag), Some(bags)) = (stated.per_bag, stated.bags.or(stated.per_bag.and_then(|count| count.bags))) {
        let made = product(per_bag, Some(bags));
        if made.fish != per_box.fish {
            share.doubts.push(Doubt::Product(per_box.fish, made.fish));
        }
    }
    share
}

fn share_total(stated: &Stated, total: Count, boxes: u64) -> Share {
    let mut total = total;
    let mut doubts = Vec::new();
    let mut bags_of_row = stated.bags.is_some() && !stated.bags_per_box;
    let bags = stated.bags.or(total.bags);
    if stated.bags.is_none() && total.bags.is_some() {
        bags_of_row = true;
    }
    let made = match (stated.per_bag, stated.per_box) {
        (Some(per_bag), _) if stated.bags.is_some() || per_bag.bags.is_some() => {
            let one = product(per_bag, stated.bags);
            let all = times(one, boxes);
            if stated.bags_per_box {
                Some(all)
            } else if boxes > 1 && one.fish == total.fish {
                Some(one)
            } else if boxes > 1 && all.fish == total.fish {
                bags_of_row = false;
                Some(all)
            } else {
                // Which of the two was meant stays open: the bags are kept as stated.
                bags_of_row = false;
                Some(if boxes > 1 { all } else { one })
            }
        }
        (_, Some(per_box)) => Some(times(per_box, boxes)),
        _ => None,
    };
    if let Some(made) = made {
        if made.fish != total.fish {
            doubts.push(Doubt::Product(total.fish, made.fish));
        } else if total.free == 0 {
            total.free = made.free;
        }
    }
    if boxes == 1 {
        return Share { fish: total.fish, free: total.free, bags, whole: false, doubts };
    }
    match (exact(total.fish, boxes), exact(total.free, boxes)) {
        (Some(fish), Some(free)) if fish > 0 => {
            let bags = if bags_of_row { bags.and_then(|bags| exact(bags, boxes)) } else { bags };
            Share { fish, free, bags, whole: false, doubts }
        }
        _ => {
            doubts.push(Doubt::Remainder);
            let bags = if bags_of_row { bags } else { bags.map(|bags| bags.saturating_mul(boxes)) };
            Share { fish: total.fish, free: total.free, bags, whole: true, doubts }
        }
    }
}

fn exact(number: u64, parts: u64) -> Option<u64> {
    number.is_multiple_of(parts).then_some(number / parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fish(fish: u64) -> Option<Count> {
        Some(Count { fish, free: 0, bags: None })
    }

    fn with_free(fish: u64, free: u64) -> Option<Count> {
        Some(Count { fish, free, bags: None })
    }

    fn of(stated: Stated, boxes: u64) -> (u64, u64, Option<u64>, bool, usize) {
        let share = share(&stated, boxes).unwrap();
        (share.fish, share.free, share.bags, share.whole, share.doubts.len())
    }

    #[test]
    fn per_bag_times_bags() {
        let stated = Stated { per_bag: with_free(11, 1), bags: Some(3), ..Stated::default() };
        assert_eq!(of(stated, 1), (33, 3, Some(3), false, 0));
        assert_eq!(of(stated, 4), (33, 3, Some(3), false, 0));
        assert_eq!(of(Stated { per_bag: fish(25), ..Stated::default() }, 1), (25, 0, None, false, 0));
    }

    #[test]
    fn a_row_total_stands_against_the_product() {
        let stated = Stated { per_bag: fish(25), bags: Some(4), total: fish(100), ..Stated::default() };
        assert_eq!(of(stated, 1), (100, 0, Some(4), false, 0));
        assert_eq!(of(Stated { total: fish(90), ..stated }, 1), (90, 0, Some(4), false, 1));
    }

    #[test]
    fn a_row_total_is_divided_over_the_boxes_if_exact() {
        assert_eq!(of(Stated { total: fish(45), ..Stated::default() }, 3), (15, 0, None, false, 0));
        assert_eq!(of(Stated { total: fish(46), bags: Some(6), ..Stated::default() }, 3), (46, 0, Some(6), true, 1));
        assert_eq!(of(Stated { total: with_free(102, 2), ..Stated::default() }, 2), (51, 1, None, false, 0));
        assert_eq!(of(Stated { total: with_free(102, 3), ..Stated::default() }, 2), (102, 3, None, true, 1));
    }

    #[test]
    fn plain_bags_with_per_bag_and_total_are_whichever_fits() {
        let stated = Stated { per_bag: fish(25), bags: Some(4), total: fish(100), ..Stated::default() };
        assert_eq!(of(stated, 2), (50, 0, Some(2), false, 0), "the bags of the row");
        assert_eq!(of(Stated { total: fish(200), ..stated }, 2), (100, 0, Some(4), false, 0), "the bags of a box");
        assert_eq!(of(Stated { total: fish(120), ..stated }, 2), (60, 0, Some(4), false, 1), "neither");
        assert_eq!(
            of(Stated { bags: Some(5), per_bag: fish(20), ..stated }, 2),
            (50, 0, None, false, 0),
            "bags that do not divide"
        );
    }

    #[test]
    fn plain_bags_without_per_bag_are_those_of_the_row() {
        assert_eq!(
            of(Stated { total: fish(3000), bags: Some(3), ..Stated::default() }, 3),
            (1000, 0, Some(1), false, 0)
        );
        assert_eq!(of(Stated { total: fish(3000), bags: Some(4), ..Stated::default() }, 3), (1000, 0, None, false, 0));
        assert_eq!(
            of(Stated { per_box: fish(100), bags: Some(6), ..Stated::default() }, 3),
            (100, 0, Some(2), false, 0)
        );
    }

    #[test]
    fn bags_of_each_box_are_never_divided() {
        let stated =
            Stated { per_bag: fish(250), bags: Some(2), bags_per_box: true, total: fish(2000), ..Stated::default() };
        assert_eq!(of(stated, 4), (500, 0, Some(2), false, 0));
        assert_eq!(of(Stated { total: fish(1000), ..stated }, 4), (250, 0, Some(2), false, 1));
        assert_eq!(of(Stated { per_bag: None, total: fish(2001), ..stated }, 4), (2001, 0, Some(8), true, 1));
    }

    #[test]
    fn a_count_that_names_its_bags_is_not_multiplied_again() {
        let two_bags = Some(Count { fish: 50, free: 0, bags: Some(2) });
        assert_eq!(of(Stated { total: two_bags, ..Stated::default() }, 1), (50, 0, Some(2), false, 0));
        assert_eq!(of(Stated { total: two_bags, bags: Some(3), ..Stated::default() }, 1), (50, 0, Some(3), false, 0));
        assert_eq!(of(Stated { per_bag: two_bags, ..Stated::default() }, 1), (50, 0, Some(2), false, 0));
    }
}
