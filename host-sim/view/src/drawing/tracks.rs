//! Places of rails within their channel: apart where they would meet, ordered for few crossings.

use super::rail::{Rail, Toward};

/// Up to this many tracks every order is tried.
const TRIED_IN_FULL: usize = 6;

/// Gives every rail its track.
pub fn assign(rails: &mut [Rail], channels: usize) {
    for channel in 0..channels {
        let mut own: Vec<usize> = (0..rails.len())
            .filter(|&rail| rails[rail].channel == channel)
            .collect();
        own.sort_by_key(|&rail| (rails[rail].from, rail));
        let mut tracks: Vec<Vec<usize>> = Vec::new();
        for rail in own {
            let apart = |track: &&mut Vec<usize>| {
                track
                    .iter()
                    .all(|&other| rails[other].to < rails[rail].from)
            };
            match tracks.iter_mut().find(apart) {
                Some(track) => track.push(rail),
                None => tracks.push(vec![rail]),
            }
        }
        let order = best_order(rails, &tracks);
        for (place, &track) in order.iter().enumerate() {
            for &rail in &tracks[track] {
                rails[rail].track = place;
            }
        }
    }
}

fn best_order(rails: &[Rail], tracks: &[Vec<usize>]) -> Vec<usize> {
    // How many crossings there are more with the first track left of the second than without.
    let cost: Vec<Vec<usize>> = tracks
        .iter()
        .map(|left| {
            let against = |right: &Vec<usize>| {
                let pairs = left
                    .iter()
                    .flat_map(|&one| right.iter().map(move |&other| (one, other)));
                pairs
                    .map(|(one, other)| {
                        crossed(&rails[one], &rails[other], Toward::Right)
                            + crossed(&rails[other], &rails[one], Toward::Left)
                    })
                    .sum()
            };
            tracks.iter().map(against).collect()
        })
        .collect();
    let total = |order: &[usize]| -> usize {
        let pairs = order
            .iter()
            .enumerate()
            .flat_map(|(at, &left)| order[at + 1..].iter().map(move |&right| (left, right)));
        pairs.map(|(left, right)| cost[left][right]).sum()
    };
    let mut order: Vec<usize> = (0..tracks.len()).collect();
    if order.len() <= TRIED_IN_FULL {
        let mut best = (total(&order), order.clone());
        permute(&mut order, 0, &mut |order| {
            let crossings = total(order);
            if crossings < best.0 {
                best = (crossings, order.to_vec());
            }
        });
        return best.1;
    }
    // Swapping neighbours only ever lowers the count, so this ends.
    let mut swapped = true;
    while swapped {
        swapped = false;
        for at in 1..order.len() {
            let (left, right) = (order[at - 1], order[at]);
            if cost[right][left] < cost[left][right] {
                order.swap(at - 1, at);
                swapped = true;
            }
        }
    }
    order
}

/// How often wires that leave a rail on one side cross another that stands there.
fn crossed(rail: &Rail, other: &Rail, side: Toward) -> usize {
    rail.leaves
        .iter()
        .filter(|&&(level, toward)| toward == side && other.from < level && level < other.to)
        .count()
}

fn permute(order: &mut [usize], from: usize, each: &mut impl FnMut(&[usize])) {
    if from + 1 >= order.len() {
        each(order);
        return;
    }
    for at in from..order.len() {
        order.swap(from, at);
        permute(order, from + 1, each);
        order.swap(from, at);
    }
}

#[cfg(test)]
mod tests {
    use super::super::rail::Purpose;
    use super::super::schematic::NetId;
    use super::*;

    fn rail(from: usize, to: usize, leaves: &[(usize, Toward)]) -> Rail {
        Rail {
            net: NetId(0),
            channel: 0,
            from,
            to,
            track: 0,
            purpose: Purpose::Turn,
            leaves: leaves.to_vec(),
            earth: None,
        }
    }

    #[test]
    fn rails_that_would_meet_stand_apart_and_the_one_wired_to_the_left_stands_left() {
        let mut rails = [
            rail(0, 4, &[(0, Toward::Right), (4, Toward::Right)]),
            rail(1, 5, &[(2, Toward::Left), (5, Toward::Left)]),
            rail(6, 7, &[]),
        ];
        assign(&mut rails, 1);
        // The third finds the room below the first.
        assert_eq!(rails.each_ref().map(|rail| rail.track), [1, 0, 1]);
    }
}
