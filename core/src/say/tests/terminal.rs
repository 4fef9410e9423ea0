use super::lines;
use crate::people::Role;
use crate::say::terminal::*;

#[test]
fn every_role_has_its_word() {
    insta::assert_snapshot!(lines(Role::ALL.map(role)), @r"
    crew
    lead
    office
    buyer
    ");
}

#[test]
fn the_terminal_says_what_happens_to_what_is_typed() {
    insta::assert_snapshot!(lines([nothing_to_edit(), pasting(), paste_dropped(), goodbye()]), @r"
    You have not written anything to edit since this chat was opened.
    Paste now; a line with only a dot ends it.
    Dropped what was pasted.
    Everything you were answered is on disk. Good night.
    ");
    insta::assert_snapshot!(lines([no_list("a.pdf", &[])]), @r"
    a.pdf is no packing list that I can read.
    I read .xlsx, .xls, .ods, .csv, .tsv and .txt with a box, a species and a quantity on each line. A photo is sent with /photo.
    ");
}

#[test]
fn the_help_of_the_terminal_names_every_command() {
    insta::assert_snapshot!(help(), @r"
    Type as you would in the chat: 7.2 36 ok 4 doa
      /as NAME            speak as another enrolled person; /as alone lists them
      /file PATH          send a packing list (.xlsx .xls .ods .csv .tsv .txt)
      /photo PATH WORDS   send a photo, with a caption if you like
      /paste              paste several lines; a line with only a dot ends them
      /edit TEXT          change your last message
      /lines              the last lines of the assistant, numbered
      /reply N TEXT       reply to one of them; 1 is the last
      /button N           press a button; its number or label alone does too
      /quit               leave; nothing is lost
    ");
}
