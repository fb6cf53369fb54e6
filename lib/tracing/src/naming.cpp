#include "naming.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace anfract::tracing {
namespace {

using Order = std::vector<std::size_t>;

/// Positions sorted by falling key.
template <class Key>
Order sorted_by(Order order, const Key& key) {
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return key(a) > key(b); });
    return order;
}

/// Names a group that lies on one side: buccal first.
void name_side(const std::string& side, const std::string& inner, const Order& group,
               std::vector<std::string>& names) {
    if (group.size() == 1) names[group[0]] = side;
    if (group.size() < 2) return;
    names[group.front()] = side + "B";
    names[group.back()] = side + inner;
    for (std::size_t n = 1; n + 1 < group.size(); ++n) {
        names[group[n]] = "M" + side + (n > 1 ? std::to_string(n) : "");
    }
}

void name_lower_molar(const std::vector<CanalPlace>& at, std::vector<std::string>& names) {
    Order order(at.size());
    std::iota(order.begin(), order.end(), 0);
    order = sorted_by(order, [&](std::size_t n) { return at[n].mm.x(); });
    // The widest gap from mesial to distal parts the roots.
    std::size_t mesial = 1;
    double widest = -1;
    for (std::size_t n = 1; n < order.size(); ++n) {
        const double gap = at[order[n - 1]].mm.x() - at[order[n]].mm.x();
        if (gap > widest) {
            widest = gap;
            mesial = n;
        }
    }
    const auto by_buccal = [&](std::size_t n) { return at[n].mm.y(); };
    const auto cut = order.begin() + std::ptrdiff_t(mesial);
    name_side("M", "L", sorted_by(Order(order.begin(), cut), by_buccal), names);
    name_side("D", "L", sorted_by(Order(cut, order.end()), by_buccal), names);
}

void name_upper_molar(const std::vector<CanalPlace>& at, std::vector<std::string>& names) {
    Order order(at.size());
    std::iota(order.begin(), order.end(), 0);
    order = sorted_by(order, [&](std::size_t n) { return -at[n].mm.y(); });
    names[order[0]] = "P";
    if (order.size() == 2) names[order[1]] = "B";
    if (order.size() < 3) return;
    Order buccal(order.begin() + 1, order.end());
    buccal = sorted_by(buccal, [&](std::size_t n) { return -at[n].mm.x(); });
    names[buccal[0]] = "DB";
    Order mesial(buccal.begin() + 1, buccal.end());
    mesial = sorted_by(mesial, [&](std::size_t n) { return at[n].mm.y(); });
    for (std::size_t n = 0; n < mesial.size(); ++n) {
        names[mesial[n]] = n == 0 ? "MB" : "MB" + std::to_string(n + 1);
    }
}

/// Names those that lie in a row from buccal to lingual, each after the end that it is nearer to:
/// outermost first, ways that divide off from another last.
void name_row(const std::string& inner, const Order& row, const std::vector<CanalPlace>& at,
              std::vector<std::string>& names) {
    const double middle_mm = (at[row.front()].mm.y() + at[row.back()].mm.y()) / 2;
    const Order outermost =
        sorted_by(row, [&](std::size_t n) { return std::abs(at[n].mm.y() - middle_mm); });
    const Order by_rank = sorted_by(outermost, [&](std::size_t n) { return !at[n].divides_off; });
    int buccal = 0, lingual = 0;
    for (const std::size_t n : by_rank) {
        const bool outer = n != row.back() && at[n].mm.y() >= middle_mm;
        const int count = ++(outer ? buccal : lingual);
        names[n] = (outer ? "B" : inner) + (count > 1 ? std::to_string(count) : "");
    }
}

void name_few(bool upper, const std::vector<CanalPlace>& at, std::vector<std::string>& names) {
    Order order(at.size());
    std::iota(order.begin(), order.end(), 0);
    order = sorted_by(order, [&](std::size_t n) { return at[n].mm.y(); });
    const std::string inner = upper ? "P" : "L";
    const Order outer = sorted_by(Order(order.begin(), order.end() - 1),
                                  [&](std::size_t n) { return at[n].mm.x(); });
    if (outer.empty()) {
        names[order.back()] = inner;
        return;
    }
    const double mesiodistal_mm = at[outer.front()].mm.x() - at[outer.back()].mm.x();
    const double buccolingual_mm = at[order.front()].mm.y() - at[*(order.end() - 2)].mm.y();
    if (outer.size() == 1 || mesiodistal_mm < buccolingual_mm)
        return name_row(inner, order, at, names);
    names[order.back()] = inner;
    names[outer.front()] = "MB";
    names[outer.back()] = "DB";
    for (std::size_t n = 1; n + 1 < outer.size(); ++n)
        names[outer[n]] = "B" + std::to_string(n + 1);
}

}  // namespace

std::vector<std::string> canal_names(const std::string& fdi, const std::vector<CanalPlace>& at) {
    std::vector<std::string> names(at.size());
    if (at.size() == 1 && !fdi.empty()) return {"main"};
    if (fdi.size() == 2) {
        const bool upper = fdi[0] == '1' || fdi[0] == '2' || fdi[0] == '5' || fdi[0] == '6';
        const bool milk = fdi[0] >= '5';
        const bool molar = milk ? fdi[1] >= '4' : fdi[1] >= '6';
        if (molar && upper) {
            name_upper_molar(at, names);
        } else if (molar) {
            name_lower_molar(at, names);
        } else {
            name_few(upper, at, names);
        }
    }
    for (std::size_t n = 0; n < names.size(); ++n) {
        if (names[n].empty()) names[n] = std::string(1, static_cast<char>('A' + n % 26));
        std::string name = names[n];
        for (int again = 2; std::count(names.begin(), names.begin() + std::ptrdiff_t(n), name) > 0;
             ++again) {
            name = names[n] + std::to_string(again);
        }
        names[n] = name;
    }
    return names;
}

}  // namespace anfract::tracing
