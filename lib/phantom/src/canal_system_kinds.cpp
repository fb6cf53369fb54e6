// An upper second premolar for each canal system of [Vertucci1984]: the one tooth in which all
// eight were seen there (from memory). Its outlines, and where canals meet, are common practice, no
// source.

#include "anfract/tooth/canal_system.h"
#include "tooth_kinds.h"

namespace anfract {

namespace {

constexpr double course_mm = 13;
constexpr double tip_mm = 0.9;

ToothDesign upper_premolar_without_canals() {
    ToothDesign tooth;
    tooth.fdi = "25";
    tooth.crown.outline = {{0.0, 2.0, 2.6}, {2.0, 3.1, 3.9},  {4.0, 3.4, 4.4},  {6.0, 3.2, 4.4},
                           {8.0, 2.7, 4.1}, {10.0, 2.4, 3.8}, {12.0, 2.2, 3.5}, {14.0, 1.9, 3.1}};
    tooth.crown.boxy = false;
    tooth.crown.fossa_z_mm = 3.0;
    tooth.crown.cusps = {{{0.0, 2.2}, 3.35, 1.35}, {{0.2, -2.2}, 2.2, 1.2}};
    tooth.crown.cej_z_mm = 7.5;
    tooth.crown.enamel_mm = 1.7;
    tooth.crown.trunk_end_z_mm = 12;
    tooth.chamber.centre_mm = {0, 0, 7.0};
    tooth.chamber.half_mm = {0.7, 2.2, 1.5};
    tooth.chamber.horns = {{{0, 1.4, 6.2}, {0, 1.9, 4.4}, 0.35},
                           {{0, -1.4, 6.2}, {0, -1.8, 4.8}, 0.35}};
    return tooth;
}

CanalDesign canal(const std::string& name, double orifice_y_mm) {
    CanalDesign c;
    c.name = name;
    c.orifice_mm = {0, orifice_y_mm};
    c.course_mm = course_mm;
    c.widths = widths({1, .26, .32}, {2, .28, .34}, {5, .34, .42}, {13, .50, .60});
    c.foramen_offset_mm = 0.5;
    return c;
}

/// Bends of a canal beyond a division at a share of its course, to one side and half back.
std::vector<BendDesign> away_from(double share, double toward_deg) {
    constexpr double angle_deg = 20, length_mm = 2.6;
    return {{share + 0.5 * length_mm / course_mm, angle_deg, toward_deg, length_mm},
            {0.92, 0.6 * angle_deg, toward_deg + 180, 2.4}};
}

CanalDesign joining(const std::string& name, const CanalDesign& other, double y_mm,
                    double join_from_foramen_mm) {
    CanalDesign c = canal(name, y_mm);
    c.joins = other.name;
    c.join_from_foramen_mm = join_from_foramen_mm;
    return c;
}

/// Divides `other` at a share of its course: both turn away from one another.
CanalDesign dividing(const std::string& name, CanalDesign& other, double share) {
    CanalDesign c = other;
    c.name = name;
    c.leaves = other.name;
    c.leaves_at = share;
    other.bends = away_from(share, 90);
    c.bends = away_from(share, 270);
    return c;
}

/// Parts from `other` and comes back to it.
CanalDesign bypass(const std::string& name, const CanalDesign& other, double share,
                   double join_from_foramen_mm) {
    CanalDesign c = joining(name, other, other.orifice_mm.y(), join_from_foramen_mm);
    c.leaves = other.name;
    c.leaves_at = share;
    c.part_by_mm = {0, -1.4};
    return c;
}

std::vector<CanalDesign> canals_of(const std::string& type) {
    CanalDesign b = canal("B", 0);
    if (type == "I") return {b};
    if (type == "II") {
        b.orifice_mm.y() = 0.8;
        return {b, joining("P", b, -1.4, 3.5)};
    }
    if (type == "III") {
        b.orifice_mm.y() = 0.6;
        return {b, bypass("P", b, 0.15, 5.0)};
    }
    if (type == "IV") return {canal("B", 1.3), canal("P", -1.3)};
    if (type == "V") {
        const CanalDesign p = dividing("P", b, 0.45);
        return {b, p};
    }
    if (type == "VI") {
        b.orifice_mm.y() = 0.3;
        const CanalDesign p2 = dividing("P2", b, 0.68);
        return {b, joining("P", b, -1.9, 7.5), p2};
    }
    if (type == "VII") {
        b.orifice_mm.y() = 0.3;
        const CanalDesign p2 = dividing("P2", b, 0.72);
        return {b, bypass("P", b, 0.2, 6.6), p2};
    }
    return {canal("B", 1.7), canal("B2", 0), canal("P", -1.7)};
}

}  // namespace

std::optional<ToothDesign> canal_system_design(const std::string& type) {
    if (!course_of_vertucci(type)) return std::nullopt;
    ToothDesign tooth = upper_premolar_without_canals();
    tooth.canals = canals_of(type);
    for (const CanalDesign& c : tooth.canals) {
        if (!c.joins.empty()) continue;
        // About the first canal the whole root, about others what holds their ends.
        const bool first = tooth.roots.empty();
        const double start_mm = first ? 3.4 : 2.9, middle_mm = first ? 2.5 : 2.0;
        tooth.roots.push_back({c.name, 2.3, 1.75, start_mm, middle_mm, tip_mm});
    }
    return tooth;
}

}  // namespace anfract
