#pragma once

#include <string>
#include <vector>

#include "trial.h"

namespace anfract::truth {

/// A scanner, a patient or a state of the tooth that makes tracing harder.
struct Condition {
    std::string name;
    PhantomOptions options;
};

/// The first is the usual one; each other differs from it in one thing.
std::vector<Condition> conditions();

/// Scanners drawn at random over the whole range of these conditions.
PhantomOptions draw_scanner(std::uint64_t seed);

/// Traces the same `count` random teeth under every condition; a table as Markdown.
std::string condition_table(int count, std::uint64_t seed, unsigned workers);

}  // namespace anfract::truth
