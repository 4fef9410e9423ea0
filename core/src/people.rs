//! Roles and what each may do: one table.
//!
//! A lead may do all that is done in the house, because at a small site the lead is alone. The crew does what wet hands do, and may always
//! err on the careful side (hold). The office does paper and trade. A buyer sees cleared stock and its own reservations, nothing else.
//! Who is not enrolled has no role, and so no power.

/// What a person is to the house.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Opens boxes, counts, moves, looks.
    Crew,
    /// Decides, clears.
    Lead,
    /// Claims, registers, prices.
    Office,
    /// The retailer downstream.
    Buyer,
}

impl Role {
    /// Every role, in the order of the table's columns.
    pub const ALL: [Role; 4] = [Role::Crew, Role::Lead, Role::Office, Role::Buyer];

    /// The role's name, lower case.
    pub fn name(self) -> &'static str {
        match self {
            Role::Crew => "crew",
            Role::Lead => "lead",
            Role::Office => "office",
            Role::Buyer => "buyer",
        }
    }

    /// The role with this name, in any case.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.name().eq_ignore_ascii_case(name.trim()))
    }
}

/// Writes the powers and the table of who has them in one place, so that neither can lack a row of the other.
macro_rules! powers {
    ($($power:ident $words:literal $crew:ident $lead:ident $office:ident $buyer:ident;)+) => {
        /// Something that not everybody may do.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Power {
            $(#[doc = concat!("To ", $words, ".")] $power,)+
        }

        impl Power {
            /// Every power, in the order of the table.
            pub const ALL: &'static [Power] = &[$(Power::$power),+];

            /// What it is, as words that follow "may".
            pub fn words(self) -> &'static str {
                match self { $(Power::$power => $words,)+ }
            }

            /// Who has it, in the order of [`Role::ALL`].
            const fn row(self) -> [bool; 4] {
                match self { $(Power::$power => [$crew, $lead, $office, $buyer],)+ }
            }
        }
    };
}

#[allow(non_upper_case_globals, reason = "the cells of the table are read as words")]
const yes: bool = true;
#[allow(non_upper_case_globals, reason = "the cells of the table are read as words")]
const no: bool = false;

#[rustfmt::skip]
powers! {
    //                                                                       crew lead office buyer
    RecordCounts      "record counts, water, signs and doses"                yes  yes  no     no;
    RecordArrival     "record arrival, delay and notes"                      yes  yes  yes    no;
    MoveFish          "move fish"                                            yes  yes  no     no;
    OpenBoxes         "open and finish boxes"                                yes  yes  no     no;
    ImportList        "import a packing list"                                yes  yes  yes    no;
    CorrectList       "correct a packing list"                               no   yes  yes    no;
    DeclareVessels    "declare tanks, trays and other vessels"               yes  yes  no     no;
    PinBoxFirst       "put a box first in the opening order"                 no   yes  no     no;
    Postpone          "put a look off"                                       yes  yes  no     no;
    Hold              "hold fish from sale"                                  yes  yes  yes    no;
    Clear             "clear fish for sale"                                  no   yes  no     no;
    ClearAnyway       "clear fish against the policy, with a reason"         no   yes  no     no;
    ReserveForBuyer   "reserve for a buyer"                                  yes  yes  yes    no;
    ReserveForOneself "reserve for oneself"                                  no   no   no     yes;
    Ship              "ship fish"                                            yes  yes  yes    no;
    SetPrices         "set prices"                                           no   yes  yes    no;
    SeeMoney          "see costs and claims"                                 no   yes  yes    no;
    EnrolPeople       "enrol and remove people"                              no   yes  no     no;
    NameBuyers        "name buyers"                                          no   yes  yes    no;
    UndoOwn           "take back what one said oneself"                      yes  yes  yes    yes;
    UndoOthers        "take back what others said"                           no   yes  no     no;
    AskHouse          "ask about anything in the house"                      yes  yes  yes    no;
    AskStock          "ask for cleared stock"                                yes  yes  yes    yes;
}

/// Whether a role has a power.
pub fn may(role: Role, power: Power) -> bool {
    let [crew, lead, office, buyer] = power.row();
    match role {
        Role::Crew => crew,
        Role::Lead => lead,
        Role::Office => office,
        Role::Buyer => buyer,
    }
}

/// The table as Markdown, for the documents.
pub fn table_markdown() -> String {
    let mut table = String::from("| may |");
    for role in Role::ALL {
        table += &format!(" {} |", role.name());
    }
    table += "\n| --- |";
    table += &" --- |".repeat(Role::ALL.len());
    table.push('\n');
    for &power in Power::ALL {
        table += &format!("| {} |", power.words());
        for role in Role::ALL {
            table += if may(role, power) { " yes |" } else { " |" };
        }
        table.push('\n');
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Written a second time on purpose: a cell that changes must be changed knowingly in two places.
    const EXPECTED: &str = "\
| may | crew | lead | office | buyer |
| --- | --- | --- | --- | --- |
| record counts, water, signs and doses | yes | yes | | |
| record arrival, delay and notes | yes | yes | yes | |
| move fish | yes | yes | | |
| open and finish boxes | yes | yes | | |
| import a packing list | yes | yes | yes | |
| correct a packing list | | yes | yes | |
| declare tanks, trays and other vessels | yes | yes | | |
| put a box first in the opening order | | yes | | |
| put a look off | yes | yes | | |
| hold fish from sale | yes | yes | yes | |
| clear fish for sale | | yes | | |
| clear fish against the policy, with a reason | | yes | | |
| reserve for a buyer | yes | yes | yes | |
| reserve for oneself | | | | yes |
| ship fish | yes | yes | yes | |
| set prices | | yes | yes | |
| see costs and claims | | yes | yes | |
| enrol and remove people | | yes | | |
| name buyers | | yes | yes | |
| take back what one said oneself | yes | yes | yes | yes |
| take back what others said | | yes | | |
| ask about anything in the house | yes | yes | yes | |
| ask for cleared stock | yes | yes | yes | yes |
";

    #[test]
    fn every_cell_of_the_table_is_as_agreed() {
        let mut cells = 0;
        for (row, &power) in EXPECTED.lines().skip(2).zip(Power::ALL) {
            let parts: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
            assert_eq!(parts[0], power.words());
            for (role, cell) in Role::ALL.into_iter().zip(&parts[1..]) {
                assert_eq!(may(role, power), *cell == "yes", "{role:?} {power:?}");
                cells += 1;
            }
        }
        assert_eq!(cells, Power::ALL.len() * Role::ALL.len());
    }

    #[test]
    fn the_table_is_shown_as_markdown() {
        assert_eq!(table_markdown(), EXPECTED);
    }

    #[test]
    fn a_buyer_learns_of_cleared_stock_only_and_touches_its_own_reservations_only() {
        let buyers: Vec<Power> = Power::ALL.iter().copied().filter(|&power| may(Role::Buyer, power)).collect();
        assert_eq!(buyers, [Power::ReserveForOneself, Power::UndoOwn, Power::AskStock]);
    }

    #[test]
    fn only_a_lead_clears() {
        for role in Role::ALL {
            assert_eq!(may(role, Power::Clear), role == Role::Lead);
            assert_eq!(may(role, Power::ClearAnyway), role == Role::Lead);
        }
    }

    #[test]
    fn a_lead_alone_can_run_the_house() {
        for &power in Power::ALL.iter().filter(|&&power| power != Power::ReserveForOneself) {
            assert!(may(Role::Lead, power), "{power:?}");
        }
    }

    #[test]
    fn a_role_reads_back_from_its_name() {
        for role in Role::ALL {
            assert_eq!(Role::from_name(&role.name().to_uppercase()), Some(role));
        }
        assert_eq!(Role::from_name("owner"), None);
    }

    #[test]
    fn the_readme_shows_the_table_as_it_is() {
        assert!(include_str!("../../README.md").contains(table_markdown().trim()));
    }
}
