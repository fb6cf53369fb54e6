#include "matching.h"

namespace anfract::truth {
namespace {

struct Matching {
    std::vector<int> column_of;
    int matched = 0;
    double cost = 0;

    bool better_than(const Matching& other) const {
        return matched > other.matched || (matched == other.matched && cost < other.cost);
    }
};

void extend(const std::vector<std::vector<double>>& cost, std::vector<bool>& used, Matching& now,
            Matching& best) {
    const std::size_t row = now.column_of.size();
    if (row == cost.size()) {
        if (best.column_of.size() < row || now.better_than(best)) best = now;
        return;
    }
    for (std::size_t column = 0; column < cost[row].size(); ++column) {
        if (used[column] || cost[row][column] == never) continue;
        Matching next = now;
        next.column_of.push_back(int(column));
        ++next.matched;
        next.cost += cost[row][column];
        used[column] = true;
        extend(cost, used, next, best);
        used[column] = false;
    }
    Matching without = now;
    without.column_of.push_back(-1);
    extend(cost, used, without, best);
}

}  // namespace

std::vector<int> best_matching(const std::vector<std::vector<double>>& cost) {
    std::vector<bool> used(cost.empty() ? 0 : cost.front().size(), false);
    Matching start, best;
    extend(cost, used, start, best);
    return best.column_of;
}

}  // namespace anfract::truth
