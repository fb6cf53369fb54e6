#include "tooth_checks.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <set>

#include "anfract/geometry/curve_derivatives.h"
#include "anfract/tooth/tooth_number.h"

namespace anfract {
namespace {

// Lengths written by hand are rounded; more than this is a mistake that would move a working
// length.
constexpr double length_tolerance_mm = 0.3;
// A centreline with a hole wider than this cannot be said to be sampled.
constexpr double widest_step_mm = 1.0;
constexpr double reference_tolerance_mm = 0.5;
constexpr double widest_canal_mm = 20;
// The longest teeth known are some 40 mm long (common practice, no source).
constexpr double farthest_reference_mm = 60;

std::string mm(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.2f mm", value);
    return text;
}

/// Complains about one canal of one file.
struct Complaint {
    const Canal& canal;
    const std::string& where;

    tl::unexpected<Error> operator()(const std::string& what, std::string remedy) const {
        return fail(ErrorCode::BadInput, "canal " + canal.name + ": " + what, where,
                    std::move(remedy));
    }
};

bool finite(const Canal& canal) {
    if (!canal.orifice_P.allFinite() || !canal.foramen_P.allFinite()) return false;
    if (!std::isfinite(canal.length_mm + canal.depth_to_foramen_mm)) return false;
    return std::all_of(canal.samples.begin(), canal.samples.end(), [](const CanalSample& s) {
        return s.point_P.allFinite() && s.wall_min_toward.allFinite() &&
               std::isfinite(s.depth_mm + s.point_sd_mm + s.diameter_mm + s.diameter_sd_mm +
                             s.diameter_short_mm + s.diameter_long_mm + s.long_axis_deg +
                             s.wall_min_mm.value_or(0));
    });
}

Result<void> check_samples(const Canal& canal, const std::string& where) {
    const Complaint complain{canal, where};
    const auto& samples = canal.samples;
    if (samples.size() < 2) {
        return complain("'samples' has " + std::to_string(samples.size()) +
                            " entries, too few for a centreline",
                        "give at least two samples, at most 0.25 mm apart");
    }
    if (!finite(canal)) {
        return complain("holds a number that is not finite", "replace it by a measured value");
    }
    for (std::size_t i = 0; i < samples.size(); ++i) {
        if (samples[i].diameter_mm <= 0) {
            return complain("'diameter_mm' is not above zero at depth " + mm(samples[i].depth_mm),
                            "give the diameter of the circle of equal area");
        }
        if (samples[i].diameter_mm > widest_canal_mm) {
            return complain(
                "'diameter_mm' is wider than a tooth at depth " + mm(samples[i].depth_mm),
                "give it in millimetres");
        }
        const bool both = samples[i].diameter_long_mm > 0 && samples[i].diameter_short_mm > 0;
        if (both && samples[i].diameter_long_mm < samples[i].diameter_short_mm - 1e-6) {
            return complain(
                "the long diameter is below the short one at depth " + mm(samples[i].depth_mm),
                "exchange them and turn 'long_axis_deg' by 90 degrees");
        }
        if (i == 0) continue;
        const double step = samples[i].depth_mm - samples[i - 1].depth_mm;
        if (step <= 0) {
            return complain("depth does not rise after " + mm(samples[i - 1].depth_mm),
                            "order the samples from the orifice to the foramen");
        }
        const double apart = (samples[i].point_P - samples[i - 1].point_P).norm();
        if (apart == 0) {
            return complain("two samples share the point at depth " + mm(samples[i].depth_mm),
                            "remove one of them");
        }
        if (apart > widest_step_mm) {
            return complain(
                "points lie " + mm(apart) + " apart after depth " + mm(samples[i - 1].depth_mm),
                "sample the centreline at most 0.25 mm apart");
        }
    }
    return {};
}

double chain_length_mm(const Canal& canal) {
    double length = 0;
    for (std::size_t i = 1; i < canal.samples.size(); ++i) {
        length += (canal.samples[i].point_P - canal.samples[i - 1].point_P).norm();
    }
    return length;
}

/// Depth, points and the lengths beside them say the same thing in several ways; they must not
/// disagree.
Result<void> check_lengths(const Canal& canal, const std::string& where) {
    const Complaint complain{canal, where};
    const double first = canal.samples.front().depth_mm;
    const double last = canal.samples.back().depth_mm;
    const double chain = chain_length_mm(canal);
    // Chords between samples are a little shorter than the curve itself.
    if (std::abs(last - first - chain) > length_tolerance_mm + 0.02 * chain) {
        return complain("depths cover " + mm(last - first) + " but the points " + mm(chain),
                        "count depth along the centreline, in millimetres");
    }
    const auto differs = [](double a, double b) { return std::abs(a - b) > length_tolerance_mm; };
    if (differs(canal.length_mm, last - first)) {
        return complain(
            "'length_mm' is " + mm(canal.length_mm) + " but the samples cover " + mm(last - first),
            "make them agree");
    }
    if (differs(canal.depth_to_foramen_mm, last)) {
        return complain("'depth_to_foramen_mm' is " + mm(canal.depth_to_foramen_mm) +
                            " but the last sample lies at " + mm(last),
                        "make them agree");
    }
    if ((canal.orifice_P - canal.samples.front().point_P).norm() > length_tolerance_mm ||
        (canal.foramen_P - canal.samples.back().point_P).norm() > length_tolerance_mm) {
        return complain("'orifice_mm' and 'foramen_mm' are not the first and last point",
                        "make them agree");
    }
    return {};
}

Result<void> check_branching(const Tooth& tooth, const Canal& canal, const char* key,
                             const std::optional<Branching>& branching, const std::string& where) {
    const Complaint complain{canal, where};
    if (!branching) return {};
    if (branching->canal == canal.name || !tooth.find(branching->canal)) {
        return complain(std::string("'") + key + "' names canal '" + branching->canal +
                            "', which is not another canal of this tooth",
                        "name one that is listed, or write null");
    }
    if (branching->depth_mm < canal.samples.front().depth_mm - length_tolerance_mm ||
        branching->depth_mm > canal.samples.back().depth_mm + length_tolerance_mm) {
        return complain(std::string("'") + key + "' lies at depth " + mm(branching->depth_mm) +
                            ", outside the canal",
                        "give a depth along this canal");
    }
    return {};
}

Result<void> check_surface(const std::optional<Surface>& surface, const char* key,
                           const std::string& where) {
    if (!surface) return {};
    const int count = static_cast<int>(surface->vertices_P.size());
    for (const auto& triangle : surface->triangles) {
        for (int corner : triangle) {
            if (corner < 0 || corner >= count) {
                return fail(ErrorCode::BadInput,
                            std::string("key '") + key + ".triangles' names vertex " +
                                std::to_string(corner) + " of " + std::to_string(count),
                            where, "count vertices from 0");
            }
        }
    }
    return {};
}

/// Complains when going from canal to canal by `next` never comes to an end.
Result<void> check_ends(const Tooth& tooth, const Canal& canal, const char* key,
                        std::optional<Branching> Canal::* next, const std::string& where) {
    const Canal* at = &canal;
    for (std::size_t steps = 0; at->*next; ++steps) {
        if (steps > tooth.canals.size()) {
            return Complaint{canal, where}(std::string("'") + key + "' leads round in a circle",
                                           "write null for the canal that goes on");
        }
        at = tooth.find((at->*next)->canal);
    }
    return {};
}

}  // namespace

Result<void> check_tooth(const Tooth& tooth, const std::string& where) {
    if (!tooth.fdi.empty()) {
        if (auto number = tooth_number_from_fdi(tooth.fdi); !number) {
            Error error = number.error();
            error.what = "key 'tooth.fdi': " + error.what;
            error.where = where;
            return tl::unexpected(error);
        }
    }
    std::set<std::string> names;
    for (const Canal& canal : tooth.canals) {
        if (!names.insert(canal.name).second) {
            return Complaint{canal, where}("the name is used twice", "name each canal differently");
        }
        if (auto sound = check_samples(canal, where); !sound) return sound;
        if (auto sound = check_lengths(canal, where); !sound) return sound;
    }
    for (const Canal& canal : tooth.canals) {
        if (auto s = check_branching(tooth, canal, "joins", canal.joins, where); !s) return s;
        if (auto s = check_branching(tooth, canal, "leaves", canal.leaves, where); !s) return s;
    }
    for (const Canal& canal : tooth.canals) {
        if (auto s = check_ends(tooth, canal, "joins", &Canal::joins, where); !s) return s;
        if (auto s = check_ends(tooth, canal, "leaves", &Canal::leaves, where); !s) return s;
        const double away = (tooth.reference_P - canal.samples.front().point_P).norm();
        if (!(away < farthest_reference_mm)) {
            return Complaint{canal, where}("'reference_mm' lies " + mm(away) + " from its orifice",
                                           "give a point on the crown of this tooth");
        }
    }
    if (auto sound = check_surface(tooth.surface, "surface", where); !sound) return sound;
    return check_surface(tooth.chamber, "chamber", where);
}

void fill_in(Canal& canal) {
    bool curvature_missing = false;
    for (CanalSample& s : canal.samples) {
        // An ellipse of the given area; a circle when neither axis is given.
        const double area = s.diameter_mm * s.diameter_mm;
        if (s.diameter_short_mm <= 0 && s.diameter_long_mm > 0) {
            s.diameter_short_mm = area / s.diameter_long_mm;
        }
        if (s.diameter_short_mm <= 0) s.diameter_short_mm = s.diameter_mm;
        if (s.diameter_long_mm <= 0) {
            s.diameter_long_mm = std::max(area / s.diameter_short_mm, s.diameter_short_mm);
        }
        curvature_missing = curvature_missing || std::isnan(s.curvature_per_mm);
    }
    if (!curvature_missing) return;
    std::vector<Vec3> points;
    for (const CanalSample& s : canal.samples) points.push_back(s.point_P);
    const Polyline chain(points);
    const auto derivatives = curve_derivatives(chain);
    for (std::size_t i = 0; i < canal.samples.size(); ++i) {
        canal.samples[i].curvature_per_mm = derivatives[i].curvature();
    }
}

void note_doubts(Tooth& tooth) {
    for (const Canal& canal : tooth.canals) {
        const double straight = (canal.orifice_P - tooth.reference_P).norm();
        const double first = canal.samples.front().depth_mm;
        if (std::abs(straight - first) <= reference_tolerance_mm) continue;
        std::string doubt =
            "The depths of canal " + canal.name + " start at " + mm(first) +
            ", but its orifice lies " + mm(straight) +
            " from the reference point: check the reference before trusting depths.";
        const auto& known = tooth.findings;
        if (std::find(known.begin(), known.end(), doubt) == known.end()) {
            tooth.findings.push_back(std::move(doubt));
        }
    }
}

}  // namespace anfract
