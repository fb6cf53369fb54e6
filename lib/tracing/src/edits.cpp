#include "edits.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/tooth/section_direction.h"
#include "by_hand.h"
#include "fit_tooth.h"

namespace anfract::tracing {
namespace {

constexpr double near_canal_mm = 1;
constexpr double furthest_move_mm = 3;
constexpr double end_mm = 0.3;      ///< a move that begins this near to an end moves the end
constexpr double bend_sd_mm = 0.8;  ///< along the canal, of the bend a moved point makes
constexpr double same_place_mm = 0.3;
constexpr double least_section_mm = 0.02;
constexpr double greatest_section_mm = 5;
constexpr double meets_mm = 0.25;  ///< beyond the lumen of a canal, for an end that lies in it

tl::unexpected<Error> refused(const std::string& what, const std::string& remedy) {
    return fail(ErrorCode::BadInput, what, "the edit", remedy);
}

Result<std::size_t> position_of(const std::string& name, const NamedCanals& state) {
    const auto found = std::find(state.names.begin(), state.names.end(), name);
    if (found == state.names.end()) {
        return refused("there is no canal " + name, "name one of the tooth's canals");
    }
    return std::size_t(found - state.names.begin());
}

/// The canal whose own part runs past a point: the named one, or one that it shares a part with.
Result<std::size_t> owner_at(const Vec3& point_P, std::size_t named, const NamedCanals& state) {
    std::size_t best = named;
    double least = line_of(state.canals[named].fit).nearest(point_P).distance_mm;
    const CanalPath& path = state.canals[named].path;
    for (const int other : {path.joins, path.leaves}) {
        if (other < 0) continue;
        const double d = line_of(state.canals[std::size_t(other)].fit).nearest(point_P).distance_mm;
        if (d >= least - 1e-9) continue;
        least = d;
        best = std::size_t(other);
    }
    if (least > near_canal_mm) {
        return refused("the place is more than 1 mm from canal " + state.names[named],
                       "take hold of the canal on its centreline");
    }
    return best;
}

/// The line with the place `from_s_mm` drawn to a point, the more softly the further from it.
Polyline drawn(const Polyline& line, double from_s_mm, const Vec3& to_P) {
    const Vec3 shift = to_P - line.at(from_s_mm);
    const Polyline even = line.resampled(0.1);
    std::vector<Vec3> points = even.points();
    for (std::size_t n = 0; n < points.size(); ++n) {
        const double z = (even.arc_mm()[n] - from_s_mm) / bend_sd_mm;
        points[n] += std::exp(-z * z / 2) * shift;
    }
    return Polyline(points);
}

/// A later fix at the same place takes the earlier one's.
void fix(TracedCanal& canal, const FixedPlace& place, const Vec3& instead_of_P) {
    std::erase_if(canal.fixed, [&](const FixedPlace& old) {
        return (old.point_P - place.point_P).norm() < same_place_mm ||
               (old.point_P - instead_of_P).norm() < same_place_mm;
    });
    canal.fixed.push_back(place);
    canal.by_hand = true;
}

/// Canals that end or begin in one that has changed follow it.
void follow(const Site& site, std::size_t changed, NamedCanals& state) {
    const Polyline line = line_of(state.canals[changed].fit);
    for (std::size_t n = 0; n < state.canals.size(); ++n) {
        const CanalPath& path = state.canals[n].path;
        if (path.joins != int(changed) && path.leaves != int(changed)) continue;
        std::vector<Vec3> points = line_of(state.canals[n].fit).points();
        Vec3& end = path.joins == int(changed) ? points.back() : points.front();
        end = line.at(line.nearest(end).s_mm);
        refit(site, state.canals, n, Polyline(points));
    }
}

Result<void> apply(const MovePoint& edit, const Site& site, NamedCanals& state) {
    if (!((edit.to_P - edit.from_P).norm() <= furthest_move_mm))
        return refused("a point can be moved by 3 mm at most", "move it in steps");
    const Result<std::size_t> named = position_of(edit.canal, state);
    if (!named) return tl::unexpected(named.error());
    const Result<std::size_t> which = owner_at(edit.from_P, *named, state);
    if (!which) return tl::unexpected(which.error());
    if (site.depth_mm(edit.to_P) < -0.5)
        return refused("the point would lie outside the tooth", "keep it inside");
    TracedCanal& canal = state.canals[*which];
    const Polyline line = line_of(canal.fit);
    double s = line.nearest(edit.from_P).s_mm;
    if (s > line.length_mm() - end_mm) {
        s = line.length_mm();
        canal.end_fixed = true;
    } else if (s < end_mm) {
        s = 0;
    }
    FixedPlace place;
    place.point_P = edit.to_P;
    fix(canal, place, line.at(s));
    refit_near(site, state.canals, *which, drawn(line, s, edit.to_P), s);
    follow(site, *which, state);
    return {};
}

Result<void> apply(const DrawSection& edit, const Site& site, NamedCanals& state) {
    const Result<std::size_t> named = position_of(edit.canal, state);
    if (!named) return tl::unexpected(named.error());
    const bool sound = edit.centre_P.allFinite() && edit.diameter_short_mm >= least_section_mm &&
                       edit.diameter_long_mm >= edit.diameter_short_mm &&
                       edit.diameter_long_mm <= greatest_section_mm &&
                       std::isfinite(edit.long_axis_deg);
    if (!sound) {
        return refused("a section must be an ellipse between 0.02 and 5 mm",
                       "give a short and a long diameter in mm");
    }
    const Result<std::size_t> which = owner_at(edit.centre_P, *named, state);
    if (!which) return tl::unexpected(which.error());
    TracedCanal& canal = state.canals[*which];
    const Polyline line = line_of(canal.fit);
    const double s = line.nearest(edit.centre_P).s_mm;
    const Vec3 tangent = nearest_section(canal.fit.sections, edit.centre_P).station.tangent_P;
    FixedPlace place;
    place.point_P = edit.centre_P;
    place.diameter_mm = std::sqrt(edit.diameter_short_mm * edit.diameter_long_mm);
    place.ratio = edit.diameter_long_mm / edit.diameter_short_mm;
    const Vec3 zero = section_zero_P(tangent);
    const double angle = edit.long_axis_deg * std::numbers::pi / 180;
    place.long_axis_P = std::cos(angle) * zero + std::sin(angle) * tangent.cross(zero);
    fix(canal, place, edit.centre_P);
    refit_near(site, state.canals, *which, drawn(line, s, edit.centre_P), s);
    follow(site, *which, state);
    return {};
}

/// The canal that a point lies in, or -1.
int canal_at(const Vec3& point_P, std::size_t but, const NamedCanals& state) {
    for (std::size_t n = 0; n < but; ++n) {
        const FittedSection& section = nearest_section(state.canals[n].fit.sections, point_P);
        const double d = line_of(state.canals[n].fit).nearest(point_P).distance_mm;
        if (d < section.diameter_mm / 2 + meets_mm) return int(n);
    }
    return -1;
}

Result<void> apply(const AddCanal& edit, const Site& site, NamedCanals& state) {
    if (!edit.orifice_P.allFinite() || !edit.end_P.allFinite() ||
        site.depth_mm(edit.orifice_P) < -0.5 || site.depth_mm(edit.end_P) < -0.5) {
        return refused("a canal's end would lie outside the tooth", "keep both ends inside");
    }
    const std::size_t before = state.canals.size();
    const Result<std::size_t> added =
        add_by_hand({edit.orifice_P, edit.end_P}, site, Progress(), state.canals);
    if (!added) return tl::unexpected(added.error());
    TracedCanal& canal = state.canals[*added];
    if (*added == before) {
        canal.path.joins = canal_at(edit.end_P, before, state);
        if (canal.path.joins >= 0) {
            const Polyline into = line_of(state.canals[std::size_t(canal.path.joins)].fit);
            const Vec3 meeting = into.at(into.nearest(edit.end_P).s_mm);
            std::vector<Vec3> points = smooth_line(canal.path.voxels, site.brick.geometry).points();
            points.push_back(meeting);
            refit(site, state.canals, *added, Polyline(points));
            return {};
        }
    }
    refit(site, state.canals, *added, smooth_line(canal.path.voxels, site.brick.geometry));
    follow(site, *added, state);
    return {};
}

/// The part of a canal that goes on beyond, or comes before, the place nearest to a point.
void take_over(const TracedCanal& from, bool rest, TracedCanal& heir) {
    const auto& sections = from.fit.sections;
    auto& own = heir.fit.sections;
    const Vec3 at_P = rest ? own.back().station.point_P : own.front().station.point_P;
    const auto nearest = sections.begin() + (&nearest_section(sections, at_P) - sections.data());
    if (rest) {
        own.insert(own.end(), std::min(nearest + 1, sections.end()), sections.end());
        heir.path.joins = from.path.joins;
        heir.path.unseen_mm += from.path.unseen_mm;
        heir.end_fixed = from.end_fixed;
    } else {
        own.insert(own.begin(), sections.begin(), nearest);
        heir.path.leaves = from.path.leaves;
    }
    heir.fixed.insert(heir.fixed.end(), from.fixed.begin(), from.fixed.end());
}

Result<void> apply(const RemoveCanal& edit, const Site& site, NamedCanals& state) {
    const Result<std::size_t> which = position_of(edit.canal, state);
    if (!which) return tl::unexpected(which.error());
    if (state.canals.size() == 1)
        return refused("a tooth's last canal cannot be removed", "add the right one first");
    const TracedCanal gone = state.canals[*which];
    // The first that shared a part with it keeps that part; others then share it with that one.
    int rest_to = -1, head_to = -1;
    for (std::size_t n = 0; n < state.canals.size(); ++n) {
        CanalPath& path = state.canals[n].path;
        for (const bool rest : {true, false}) {
            int& link = rest ? path.joins : path.leaves;
            int& heir = rest ? rest_to : head_to;
            if (link != int(*which)) continue;
            if (heir >= 0) {
                link = heir;
                continue;
            }
            heir = int(n);
            take_over(gone, rest, state.canals[n]);
        }
    }
    state.canals.erase(state.canals.begin() + std::ptrdiff_t(*which));
    state.names.erase(state.names.begin() + std::ptrdiff_t(*which));
    for (TracedCanal& canal : state.canals) {
        for (int* link : {&canal.path.joins, &canal.path.leaves}) *link -= *link > int(*which);
    }
    for (const int heir : {rest_to, head_to}) {
        if (heir < 0) continue;
        const auto n = std::size_t(heir - (heir > int(*which)));
        refit(site, state.canals, n, line_of(state.canals[n].fit));
    }
    return {};
}

}  // namespace

Result<void> apply_edit(const CanalEdit& edit, const Site& site, NamedCanals& state) {
    return std::visit([&](const auto& one) { return apply(one, site, state); }, edit);
}

}  // namespace anfract::tracing
