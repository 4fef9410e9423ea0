//! Boxes and bags: opening, counting, finishing, late, lost and passed on.

use super::night::{Night, RIO};

#[test]
fn show() {
    let mut night = Night::with_a_list();
    for (who, text) in [
        ("ana", "opening 7"),
        ("ana", "7.1 40 ok"),
        ("ana", "7.2 36 ok 4 dead"),
        ("ana", "2 more dead"),
        ("ana", "1 came round"),
        ("ana", "culled 2"),
        ("ana", "7.3 44 ok"),
        ("ana", "yes"),
        ("ana", "7.1 into tray 3"),
        ("ana", "36 from 7.2 into A1"),
        ("ana", "50 from 7.2 into A1"),
        ("ana", "7 done"),
        ("bo", "8 into A2"),
        ("bo", "8 done"),
        ("bo", "all there"),
        ("bo", "9.1 not yoyos, kuhlis, 38"),
        ("bo", "9.2 48 ok"),
        ("bo", "9 done"),
        ("bo", "short"),
        ("lea", "box 12 late"),
        ("bo", "box 12 lost"),
        ("lea", "box 12 lost"),
        ("lea", "box 12 here"),
        ("ana", "12 30 ok"),
        ("ana", "sorry 29 not 30"),
        ("ana", "12 shipped to Reef & River"),
        ("ana", "12 into A2"),
        ("ana", "A2 2 dead"),
        ("ana", "kuhlis"),
        ("ana", "3 dead"),
        ("ana", "can't tell"),
        ("ana", "A2 all good, eating"),
        ("lea", "clear A2"),
        ("lea", "clear A2 anyway they are fine"),
        ("rita", "what's for sale?"),
        ("rita", "can we get 12 neons"),
        ("lea", "who has reserved what"),
        ("ana", "A2 90 neons alive"),
        ("ana", "yes"),
        ("ana", "A2 all dead"),
        ("ana", "undo"),
        ("ana", "A5 has 40 tiger barbs"),
        ("ana", "what's due?"),
        ("lea", "board"),
        ("lea", "claims?"),
        ("lea", "hold A2 48h"),
        ("lea", "A2 12 shipped to Reef & River"),
        ("ana", "undo"),
        ("ana", "undo"),
        ("ana", "undo"),
        ("ana", "undo"),
    ] {
        let reply = night.says(who, text);
        println!("{who}: {text}\n      → {}", reply.replace('\n', "\n        "));
        for message in night.last.outgoing.iter().filter(|m| m.reply_to.is_none()) {
            println!("      [{}] {}", message.chat, message.body);
        }
    }
    println!("{:?}", night.books());
    let _ = RIO;
}
