//! The terminal wall: the class clock in large digits, the movements and the board in a terminal, for a
//! small computer without a browser and for people who test.
//!
//! Pure. [`Wall::of`] says what there is to show by what a device knows, at one instant of house time;
//! [`picture`] makes a [`Screen`] of it, and [`paint`] what to send to a terminal to make it show another
//! screen than it does. [`Wall::next_change`] says when the next picture is another one, so that nothing
//! has to tick. [`Lines`] tells the same in plain lines, for where there is no terminal.
//!
//! It says what the browser wall says (`web/src/wall`), in the same words.

mod board;
mod board_view;
mod class;
mod code;
mod cover;
mod digits;
mod lines;
mod paint;
mod plan;
mod screen;
#[cfg(test)]
mod tests;
mod text;
mod wall;

pub use code::code;
pub use lines::Lines;
pub use paint::paint;
pub use screen::{Screen, Size};
pub use wall::Wall;

use screen::{Ink, Style};
use wall::Page;

use crate::showing::Showing;

/// What a terminal of a size shows of a wall.
pub fn picture(wall: &Wall<'_>, size: Size) -> Screen {
    let mut screen = Screen::new(size);
    let all = screen.area();
    if let Some(emergency) = wall.stop {
        cover::stop(&mut screen, all, emergency);
        return screen;
    }
    // The last row is for the mark, so that nothing moves when it comes and goes.
    let (area, mark) = all.split_rows(all.rows.saturating_sub(1));
    match &wall.page {
        Page::Pairing(number) => cover::pairing(&mut screen, area, wall.house, *number),
        Page::Message { heading, text } => {
            cover::message(&mut screen, area, wall.house, heading, text);
        }
        Page::Class(class) => match &class.showing {
            Showing::Gathering => cover::gathering(&mut screen, area, wall.house, class.state),
            Showing::Standing(standing) => class::draw(&mut screen, area, class, standing),
            Showing::Done => class::draw_done(&mut screen, area, class),
        },
    }
    if wall.alone {
        screen.write(mark, ALONE, Style::of(Ink::Warn).reversed());
    }
    screen
}

/// Says that the connection is lost, and the clock goes on by itself.
const ALONE: &str = "On its own: no connection to the house";
