//! Prints the TypeScript form of the wire types, as `display-client/web/src/shared/wire.ts` holds it.

use std::any::TypeId;
use std::collections::{BTreeMap, BTreeSet};

use floorbell_core::class::command::{Call, Settlement, Trim};
use floorbell_core::score::Standing;
use floorbell_core::sheet::Problem;
use floorbell_core::wire::{Ask, FromDevice, Outcome, Role, ToDevice};
use ts_rs::{Config, TS, TypeVisitor};

struct Collector {
    config: Config,
    seen: BTreeSet<TypeId>,
    declarations: BTreeMap<String, String>,
}

impl TypeVisitor for Collector {
    fn visit<T: TS + 'static + ?Sized>(&mut self) {
        if T::output_path().is_none() || !self.seen.insert(TypeId::of::<T>()) {
            return;
        }
        self.declarations.insert(T::ident(&self.config), T::decl(&self.config));
        T::visit_dependencies(self);
    }
}

fn main() {
    let mut types = Collector {
        config: Config::default(),
        seen: BTreeSet::new(),
        declarations: BTreeMap::new(),
    };
    types.visit::<FromDevice>();
    types.visit::<ToDevice>();
    // These are written out where a message holds them, but the pages also name them by themselves.
    types.visit::<Ask>();
    types.visit::<Call>();
    types.visit::<Outcome>();
    types.visit::<Role>();
    types.visit::<Settlement>();
    types.visit::<Standing>();
    types.visit::<Trim>();
    // What the house answers about a sheet over HTTP.
    types.visit::<Problem>();
    println!("// Generated from floorbell-core: change the Rust types and run `make wire-types`.");
    for declaration in types.declarations.values() {
        println!("\nexport {declaration}");
    }
}
