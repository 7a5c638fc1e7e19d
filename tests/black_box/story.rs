//! One order from the counter to closing.

use harness::{TestShop, baritone};

#[test]
fn an_order_goes_from_the_counter_to_closing() {
    let shop = TestShop::open();
    let order = shop.collected(&baritone());
    assert_eq!(order.stage(), "closed");
    let mail = shop.mail_has_gone();
    for letter in mail.letters() {
        println!("{:?} {}\n{}\n-----", letter.to, letter.subject, letter.text);
    }
    assert_eq!(mail.to("otto@player.example").len(), 7);
}
