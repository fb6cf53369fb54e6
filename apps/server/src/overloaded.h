#pragma once

namespace anfract::server {

/// Several lambdas as one visitor of a variant.
template <class... Kinds>
struct Overloaded : Kinds... {
    using Kinds::operator()...;
};
template <class... Kinds>
Overloaded(Kinds...) -> Overloaded<Kinds...>;

}  // namespace anfract::server
