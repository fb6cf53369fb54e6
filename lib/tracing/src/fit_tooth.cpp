#include "fit_tooth.h"

#include <algorithm>
#include <optional>

#include "parting.h"

namespace anfract::tracing {
namespace {

FitInput input_for(const Site& site, const TracedCanal& canal, Polyline line) {
    FitInput input{site.brick, site.body, site.levels, std::move(line), {}, true, true, {}};
    input.ends_at_surface = canal.path.joins < 0 && !canal.end_fixed;
    input.starts_in_chamber = canal.path.leaves < 0 && !canal.by_hand;
    input.fixed = canal.fixed;
    input.threads = site.threads;
    return input;
}

void fit(std::vector<TracedCanal>& canals, std::size_t n, FitInput& input) {
    input.others.clear();
    for (std::size_t m = 0; m < canals.size(); ++m) {
        if (m != n) input.others.push_back(canals[m].fit.sections);
    }
    canals[n].fit = fit_canal(input);
}

/// What is left of a line from where it is nearest to a point.
std::optional<Polyline> rest_from(const Polyline& line, const Vec3& point_P) {
    constexpr double least_mm = 0.2;
    const double from_mm = line.nearest(point_P).s_mm;
    if (line.length_mm() - from_mm < least_mm) return std::nullopt;
    std::vector<Vec3> points{line.at(from_mm)};
    for (std::size_t n = 0; n < line.points().size(); ++n) {
        if (line.arc_mm()[n] > from_mm) points.push_back(line.points()[n]);
    }
    return Polyline(points);
}

/// The lines of the canals that a canal leaves and joins, as they stand now.
void lean_on_others(const std::vector<TracedCanal>& canals, const CanalPath& path,
                    FitInput& input) {
    const auto line_at = [&](int other) { return line_of(canals[std::size_t(other)].fit); };
    input.before.reset();
    input.onward.reset();
    if (path.leaves >= 0)
        input.before = rest_from(line_at(path.leaves).reversed(), input.start.points().front());
    if (path.joins >= 0) input.onward = rest_from(line_at(path.joins), input.start.points().back());
}

/// Leads the ends of a canal that lie in others on along those, as far as two can be told apart.
void part(std::vector<TracedCanal>& canals, std::size_t n, FitInput& input) {
    CanalPath& path = canals[n].path;
    if (path.joins >= 0) {
        Parting parting = follow_beside(input, input.start, canals[std::size_t(path.joins)].fit);
        input.start = std::move(parting.line);
        if (parting.apart_to_end) path.joins = -1;
        input.ends_at_surface = path.joins < 0;
    }
    if (path.leaves >= 0) {
        const FittedCanal parent = reversed(canals[std::size_t(path.leaves)].fit);
        const Parting parting = follow_beside(input, input.start.reversed(), parent);
        input.start = parting.line.reversed();
    }
}

}  // namespace

void fit_all(const Site& site, std::vector<TracedCanal>& canals) {
    std::vector<FitInput> inputs;
    for (TracedCanal& canal : canals) {
        Polyline line = smooth_line(canal.path.voxels, site.brick.geometry);
        canal.fit = unfitted(line);
        inputs.push_back(input_for(site, canal, std::move(line)));
    }
    for (std::size_t n = 0; n < canals.size(); ++n) {
        part(canals, n, inputs[n]);
        lean_on_others(canals, canals[n].path, inputs[n]);
        fit(canals, n, inputs[n]);
    }
    for (std::size_t n = 0; n < canals.size(); ++n) {
        const bool alone =
            std::none_of(canals.begin(), canals.end(), [&](const TracedCanal& other) {
                return other.path.joins == int(n) || other.path.leaves == int(n);
            });
        if (alone && canals[n].path.joins < 0 && canals[n].path.leaves < 0) continue;
        // Where two part is better known now that both are fitted.
        inputs[n].start = line_of(canals[n].fit);
        part(canals, n, inputs[n]);
        lean_on_others(canals, canals[n].path, inputs[n]);
        fit(canals, n, inputs[n]);
    }
    for (std::size_t n = 0; n < canals.size(); ++n) {
        if (inputs[n].starts_in_chamber && canals[n].fixed.empty())
            leave_chamber(site.coronal_P, canals[n].fit);
    }
}

void refit(const Site& site, std::vector<TracedCanal>& canals, std::size_t which, Polyline line) {
    FitInput input = input_for(site, canals[which], std::move(line));
    lean_on_others(canals, canals[which].path, input);
    fit(canals, which, input);
}

void refit_near(const Site& site, std::vector<TracedCanal>& canals, std::size_t which,
                const Polyline& line, double s_mm) {
    constexpr double reach_mm = 2.5;
    constexpr double least_rest_mm = 1;
    const double length = line.length_mm();
    double from = s_mm - reach_mm, to = s_mm + reach_mm;
    if (from < least_rest_mm) from = 0;
    if (to > length - least_rest_mm) to = length;
    std::vector<Vec3> points{line.at(from)};
    for (std::size_t n = 0; n < line.points().size(); ++n) {
        const double s = line.arc_mm()[n];
        if (s > from && s < to) points.push_back(line.points()[n]);
    }
    points.push_back(line.at(to));

    FitInput input = input_for(site, canals[which], Polyline(points));
    lean_on_others(canals, canals[which].path, input);
    const auto hold = [&](const Vec3& point_P) {
        FixedPlace place;
        place.point_P = point_P;
        input.fixed.push_back(place);
    };
    std::erase_if(input.fixed, [&](const FixedPlace& place) {
        return input.start.nearest(place.point_P).distance_mm > least_rest_mm;
    });
    if (from > 0) {
        input.starts_in_chamber = false;
        input.before.reset();
        hold(points.front());
    }
    if (to < length) {
        input.ends_at_surface = false;
        input.onward.reset();
        hold(points.back());
    }
    const FittedCanal old = canals[which].fit;
    fit(canals, which, input);
    FittedCanal& fitted = canals[which].fit;
    // The old line is as long as the new one but for the bend at the place itself.
    const double old_to = old.sections.back().station.s_mm - (length - to);
    constexpr double apart_mm = 0.05;
    std::vector<FittedSection> sections;
    for (const FittedSection& section : old.sections) {
        if (section.station.s_mm < from - apart_mm) sections.push_back(section);
    }
    sections.insert(sections.end(), fitted.sections.begin(), fitted.sections.end());
    for (const FittedSection& section : old.sections) {
        if (section.station.s_mm > old_to + apart_mm) sections.push_back(section);
    }
    for (std::size_t n = 1; n < sections.size(); ++n) {
        sections[n].station.s_mm =
            sections[n - 1].station.s_mm +
            (sections[n].station.point_P - sections[n - 1].station.point_P).norm();
    }
    sections.front().station.s_mm = 0;
    fitted.sections = std::move(sections);
    if (to < length) {
        fitted.mouth = old.mouth;
        fitted.foramen_sd_mm = old.foramen_sd_mm;
    }
}

}  // namespace anfract::tracing
