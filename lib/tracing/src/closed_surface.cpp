#include "closed_surface.h"

#include <algorithm>
#include <boost/graph/boykov_kolmogorov_max_flow.hpp>
#include <boost/graph/compressed_sparse_row_graph.hpp>
#include <cmath>
#include <cstdint>
#include <numeric>

namespace anfract::tracing {
namespace {

using Graph = boost::compressed_sparse_row_graph<boost::directedS>;
using Flow = std::int64_t;

constexpr Flow unit = 1'000'000;
constexpr Flow unlimited = std::int64_t(1) << 50;

struct Arc {
    std::size_t from = 0, to = 0, back = 0;  ///< `back`: the arc the other way
    Flow capacity = 0;
};

void join(std::vector<Arc>& arcs, std::size_t from, std::size_t to, Flow capacity) {
    arcs.push_back({from, to, arcs.size() + 1, capacity});
    arcs.push_back({to, from, arcs.size() - 1, 0});
}

/// By where they begin, as the graph wants them.
std::vector<Arc> sorted(const std::vector<Arc>& arcs, std::size_t nodes) {
    std::vector<std::size_t> next(nodes + 1, 0), place(arcs.size());
    for (const Arc& arc : arcs) ++next[arc.from + 1];
    std::partial_sum(next.begin(), next.end(), next.begin());
    for (std::size_t n = 0; n < arcs.size(); ++n) place[n] = next[arcs[n].from]++;
    std::vector<Arc> result(arcs.size());
    for (std::size_t n = 0; n < arcs.size(); ++n) {
        result[place[n]] = arcs[n];
        result[place[n]].back = place[arcs[n].back];
    }
    return result;
}

/// Which nodes lie on the side of the source of a minimum cut.
std::vector<bool> source_side(const std::vector<Arc>& unsorted, std::size_t nodes,
                              std::size_t source, std::size_t sink) {
    const std::vector<Arc> arcs = sorted(unsorted, nodes);
    std::vector<std::pair<std::size_t, std::size_t>> ends;
    std::vector<Flow> capacity, left(arcs.size(), 0);
    for (const Arc& arc : arcs) {
        ends.emplace_back(arc.from, arc.to);
        capacity.push_back(arc.capacity);
    }
    const Graph graph(boost::edges_are_sorted, ends.begin(), ends.end(), nodes);
    using Edge = boost::graph_traits<Graph>::edge_descriptor;
    std::vector<Edge> back, before(nodes);
    for (const Arc& arc : arcs) back.push_back(edge_from_index(arc.back, graph));
    std::vector<boost::default_color_type> side(nodes, boost::gray_color);
    std::vector<long> distance(nodes, 0);
    const auto of_edge = boost::get(boost::edge_index, graph);
    const auto of_node = boost::get(boost::vertex_index, graph);
    const auto map = [](auto& values, const auto& index) {
        return boost::make_iterator_property_map(values.begin(), index);
    };
    boost::boykov_kolmogorov_max_flow(graph, map(capacity, of_edge), map(left, of_edge),
                                      map(back, of_edge), map(before, of_node), map(side, of_node),
                                      map(distance, of_node), of_node, source, sink);
    std::vector<bool> inside(nodes);
    for (std::size_t n = 0; n < nodes; ++n) inside[n] = side[n] == boost::black_color;
    return inside;
}

/// The cheapest surface through some of the columns, bound to one another alone. What lies under it
/// is a closed set: with a place go all below it and, in the neighbours, what lies `most_step`
/// below. A place weighs its cost less that of the one below; the lightest closed set ends at the
/// cheapest surface.
/// @param greatest  of all costs
void cut(const Columns& columns, const std::vector<std::size_t>& named, double greatest,
         std::vector<int>& surface) {
    const auto places = std::size_t(columns.places), count = named.size();
    const std::size_t source = count * places, sink = source + 1;
    constexpr std::size_t not_named = std::numeric_limits<std::size_t>::max();
    std::vector<std::size_t> number(surface.size(), not_named);
    std::vector<Arc> arcs;
    for (std::size_t c = 0; c < count; ++c) {
        number[named[c]] = c;
        const float* cost = columns.cost.data() + named[c] * places;
        const auto rounded = [&](std::size_t k) {
            return Flow(std::llround(double(cost[k]) / greatest * double(unit)));
        };
        join(arcs, source, c * places, unlimited);  // the lowest place always lies under it
        for (std::size_t k = 1; k < places; ++k) {
            const std::size_t n = c * places + k;
            join(arcs, n, n - 1, unlimited);
            const Flow weight = rounded(k) - rounded(k - 1);
            if (weight < 0) join(arcs, source, n, -weight);
            if (weight > 0) join(arcs, n, sink, weight);
        }
    }
    const auto step = std::size_t(columns.most_step);
    for (const auto& [one, other] : columns.neighbours) {
        const std::size_t a = number[std::size_t(one)], b = number[std::size_t(other)];
        if (a == not_named || b == not_named) continue;
        for (std::size_t k = step + 1; k < places; ++k) {
            join(arcs, a * places + k, b * places + k - step, unlimited);
            join(arcs, b * places + k, a * places + k - step, unlimited);
        }
    }
    const std::vector<bool> inside = source_side(arcs, sink + 1, source, sink);
    for (std::size_t c = 0; c < count; ++c) {
        int& place = surface[named[c]];
        place = 0;
        for (std::size_t k = 1; k < places; ++k) {
            if (inside[c * places + k]) place = int(k);
        }
    }
}

}  // namespace

std::vector<int> cheapest_surface(const Columns& columns) {
    const auto places = std::size_t(columns.places), count = columns.cost.size() / places;
    float greatest = 1e-30F;
    for (const float cost : columns.cost) greatest = std::max(greatest, std::abs(cost));
    std::vector<int> surface(count);
    for (std::size_t c = 0; c < count; ++c) {
        const auto first = columns.cost.begin() + std::ptrdiff_t(c * places);
        surface[c] = int(std::min_element(first, first + columns.places) - first);
    }
    // Where neighbours do not differ by too much of themselves nothing need bind them: a surface
    // that is cheapest with fewer bonds and breaks none is cheapest with all of them. So only
    // columns that tear apart are bound, round after round.
    std::vector<std::uint8_t> bound(count, 0);
    for (;;) {
        bool torn = false;
        for (const auto& [a, b] : columns.neighbours) {
            const auto one = std::size_t(a), other = std::size_t(b);
            if (std::abs(surface[one] - surface[other]) <= columns.most_step) continue;
            bound[one] = bound[other] = 1;
            torn = true;
        }
        if (!torn) return surface;
        std::vector<std::size_t> named;
        for (std::size_t c = 0; c < count; ++c) {
            if (bound[c] != 0) named.push_back(c);
        }
        cut(columns, named, double(greatest), surface);
    }
}

}  // namespace anfract::tracing
