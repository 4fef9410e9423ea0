//! The macro that converts between a wire type and its domain type, and the small functions it converts fields with.

/// Writes both conversions between a wire type and its domain type, field by field. A field that needs more than
/// `Into` names its function: `maybe`, `list`, `boxed` or `pairs`.
///
/// Both sides are taken apart completely, so that the compiler points at a field or variant that is missing here.
macro_rules! mirror {
    (struct $wire:ident, $domain:ty { $($field:ident $(: $via:ident)?),* $(,)? }) => {
        const _: () = {
            type Domain = $domain;
            impl From<Domain> for $wire {
                fn from(it: Domain) -> Self {
                    let Domain { $($field),* } = it;
                    $wire { $($field: mirror!(@field $field $($via)?)),* }
                }
            }
            impl From<$wire> for Domain {
                fn from(it: $wire) -> Self {
                    let $wire { $($field),* } = it;
                    Domain { $($field: mirror!(@field $field $($via)?)),* }
                }
            }
        };
    };
    (enum $wire:ident, $domain:ty { $($variant:ident
        $(( $($place:ident $(: $place_via:ident)?),* ))?
        $({ $($field:ident $(: $via:ident)?),* })?
    ),* $(,)? }) => {
        const _: () = {
            type Domain = $domain;
            impl From<Domain> for $wire {
                fn from(it: Domain) -> Self {
                    match it { $(
                        Domain::$variant $(( $($place),* ))? $({ $($field),* })? =>
                            $wire::$variant $(( $(mirror!(@field $place $($place_via)?)),* ))?
                                $({ $($field: mirror!(@field $field $($via)?)),* })?
                    ),* }
                }
            }
            impl From<$wire> for Domain {
                fn from(it: $wire) -> Self {
                    match it { $(
                        $wire::$variant $(( $($place),* ))? $({ $($field),* })? =>
                            Domain::$variant $(( $(mirror!(@field $place $($place_via)?)),* ))?
                                $({ $($field: mirror!(@field $field $($via)?)),* })?
                    ),* }
                }
            }
        };
    };
    (@field $field:ident) => { $crate::journal::wire::mirror::one($field) };
    (@field $field:ident $via:ident) => { $crate::journal::wire::mirror::$via($field) };
}

pub(super) use mirror;

pub(super) fn one<A: Into<B>, B>(from: A) -> B {
    from.into()
}

pub(super) fn maybe<A: Into<B>, B>(from: Option<A>) -> Option<B> {
    from.map(Into::into)
}

pub(super) fn list<A: Into<B>, B>(from: Vec<A>) -> Vec<B> {
    from.into_iter().map(Into::into).collect()
}

#[expect(clippy::boxed_local, reason = "the macro hands over the field as it is, and the field is boxed")]
pub(super) fn boxed<A: Into<B>, B>(from: Box<A>) -> Box<B> {
    Box::new((*from).into())
}

/// A map to a list of pairs, or back: keys of JSON objects are strings, and most keys here are not.
pub(super) fn pairs<K, A, B, From, To>(from: From) -> To
where
    From: IntoIterator<Item = (K, A)>,
    A: Into<B>,
    To: FromIterator<(K, B)>,
{
    from.into_iter().map(|(key, value)| (key, value.into())).collect()
}
