#include "findings.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>

#include "anfract/tooth/clinical_frame.h"
#include "anfract/tooth/tooth_number.h"
#include "danger_zone.h"

namespace anfract::tracing {
namespace {

std::string millimetres(double value, int digits) {
    char text[32];
    std::snprintf(text, sizeof text, "%.*f mm", digits, value);
    return text;
}

bool any_named(const Tooth& tooth, std::initializer_list<const char*> names) {
    return std::any_of(names.begin(), names.end(),
                       [&](const char* name) { return tooth.find(name) != nullptr; });
}

/// Canals that such a tooth often has beside the ones that were found; common practice, no source.
std::vector<std::string> missing_canals(const Tooth& tooth) {
    std::vector<std::string> missing;
    const Result<ToothNumber> number = tooth_number_from_fdi(tooth.fdi);
    if (!number) return missing;
    if (number->molar() && number->upper()) {
        if (!any_named(tooth, {"MB2"})) missing.emplace_back("second mesiobuccal canal");
    } else if (number->molar()) {
        if (!any_named(tooth, {"ML"})) missing.emplace_back("second mesial canal");
        if (!any_named(tooth, {"DL"})) missing.emplace_back("second distal canal");
    } else if (tooth.canals.size() == 1 && (number->premolar() || !number->upper())) {
        missing.emplace_back("second canal");
    }
    return missing;
}

/// Depths between which all canals run: where a further one would be expected.
std::string searched_range(const Tooth& tooth) {
    double from = 1e9, to = 0;
    for (const Canal& canal : tooth.canals) {
        from = std::min(from, canal.samples.front().depth_mm);
        to = std::max(to, canal.depth_to_foramen_mm);
    }
    return "between depths of " + millimetres(from, 0) + " and " + millimetres(to, 0);
}

void add_canal_findings(const Canal& canal, double unseen_mm, const TraceFacts& facts,
                        std::vector<std::string>& findings) {
    if (unseen_mm > 0.8) {
        const double end_mm = canal.joins ? canal.joins->depth_mm : canal.depth_to_foramen_mm;
        findings.push_back("Canal " + canal.name + " is seen down to a depth of " +
                           millimetres(end_mm - unseen_mm, 1) +
                           " only; the rest of its course and its end are a guess.");
    }
    if (canal.presence.value_or(1) < 0.9) {
        findings.push_back("Canal " + canal.name + " is doubtful: its presence is put at " +
                           std::to_string(int(std::lround(100 * *canal.presence))) + " in 100.");
    }
    if (canal.joins) {
        findings.push_back("Canal " + canal.name + " runs into " + canal.joins->canal +
                           " at a depth of " + millimetres(canal.joins->depth_mm, 1) +
                           "; from there on its widths are those of the common canal.");
    }
    for (const CanalSample& sample : canal.samples) {
        const bool apical = sample.depth_mm > canal.depth_to_foramen_mm - 1.0;
        if (!apical || sample.diameter_mm > facts.least_width_mm) continue;
        findings.push_back("The last millimetre of canal " + canal.name +
                           " is at the limit of what this scan shows; its end is uncertain.");
        break;
    }
}

/// Single canals of phantoms are at most 1.8 times as long as wide over this length; two that run
/// in one lumen were traced as one of 2.6.
constexpr double two_lumens_ratio = 2.1, two_lumens_mm = 1.5;

/// The longest stretch of a canal whose section is so long that it may be two; false when there is
/// none.
bool add_lumen_finding(const Canal& canal, std::vector<std::string>& findings) {
    double from_mm = 0, to_mm = 0, least_ratio = 0;
    for (std::size_t first = 0; first < canal.samples.size(); ++first) {
        double least = std::numeric_limits<double>::infinity();
        for (std::size_t n = first; n < canal.samples.size(); ++n) {
            const CanalSample& sample = canal.samples[n];
            const double ratio = sample.diameter_long_mm / sample.diameter_short_mm;
            if (!(ratio >= two_lumens_ratio)) break;
            least = std::min(least, ratio);
            if (sample.depth_mm - canal.samples[first].depth_mm <= to_mm - from_mm) continue;
            from_mm = canal.samples[first].depth_mm;
            to_mm = sample.depth_mm;
            least_ratio = least;
        }
    }
    if (to_mm - from_mm < two_lumens_mm) return false;
    char times[16];
    std::snprintf(times, sizeof times, "%.1f", least_ratio);
    findings.push_back("From a depth of " + millimetres(from_mm, 1) + " to " +
                       millimetres(to_mm, 1) + " canal " + canal.name + " is " + times +
                       " times as long as wide or more: an oval canal, or two in one lumen with "
                       "no dentine between them that this scan shows.");
    return true;
}

/// The directions at a tooth, by which way its canals run; nothing where they run nowhere.
std::optional<ClinicalFrame> frame_of(const Tooth& tooth) {
    Vec3 apical{0, 0, 0};
    for (const Canal& canal : tooth.canals) apical += canal.foramen_P - canal.orifice_P;
    if (apical.norm() < 1e-6) return std::nullopt;
    return clinical_frame(tooth.fdi, apical);
}

/// From where to where, seen from above.
std::string between(const Vec3& axis_P, const ClinicalFrame& frame) {
    return "between " + direction_name(frame, axis_P) + " and " + direction_name(frame, -axis_P);
}

void add_movement_findings(const TraceFacts& facts, const Tooth& tooth,
                           std::vector<std::string>& findings) {
    const std::optional<ClinicalFrame> frame = frame_of(tooth);
    if (!facts.movement || !frame) return;
    const Movement& movement = *facts.movement;
    if (movement.stands_double()) {
        findings.push_back("Edges in this scan stand double, " +
                           millimetres(movement.shift_P.norm(), 1) + " apart " +
                           between(movement.shift_P, *frame) +
                           ", as when the head moves while it is taken; lines, widths and walls "
                           "are doubtful, and a canal that far beside another may be its second "
                           "image.");
        for (const SecondImage& second : facts.second_images) {
            findings.push_back("Canal " + second.canal + " lies as far beside canal " + second.of +
                               " as this scan's edges stand apart; it may be the second image of "
                               "that canal.");
        }
    } else if (movement.smeared()) {
        findings.push_back("Edges in this scan are softer " +
                           between(movement.blur_axis_P, *frame) +
                           " than across it, as when the head moves a little while it is taken; "
                           "widths and walls are doubtful in that direction.");
    }
}

/// Thicker walls need no word.
constexpr double thin_wall_mm = 1.5, hollow_mm = 0.1;

void add_danger_zones(const Tooth& tooth, std::vector<std::string>& findings) {
    const std::optional<ClinicalFrame> frame = frame_of(tooth);
    if (!frame) return;
    for (const Canal& canal : tooth.canals) {
        if (!in_danger_root(tooth.fdi, canal.name)) continue;
        const std::optional<DangerZone> zone = danger_zone(canal, *frame);
        if (!zone || zone->wall_mm > thin_wall_mm) continue;
        std::string sentence = "Toward the furcation the wall of canal " + canal.name +
                               " is thinnest, " + millimetres(zone->wall_mm, 1) +
                               ", at a depth of " + millimetres(zone->depth_mm, 1) + ", " +
                               millimetres(zone->below_orifice_mm, 1) + " below its orifice";
        if (zone->hollow_mm > hollow_mm) {
            sentence += "; the root is hollow there, by " + millimetres(zone->hollow_mm, 1);
        }
        findings.push_back(sentence + ".");
    }
}

}  // namespace

double least_visible_width_mm(const GreyLevels& levels) {
    // A canal of 0.12 mm gives z = 4 at a noise of 0.047 of the contrast and a sigma of 0.109 mm.
    const double limit =
        0.12 * std::sqrt(levels.noise / levels.contrast() / 0.047) * levels.sigma_psf_mm / 0.109;
    return std::max(1.5 * limit, 0.05);
}

std::vector<std::string> findings_of(const Tooth& tooth, const TraceFacts& facts) {
    std::vector<std::string> findings;
    add_movement_findings(facts, tooth, findings);
    bool may_hold_two = false;
    for (std::size_t n = 0; n < tooth.canals.size(); ++n) {
        add_canal_findings(tooth.canals[n], n < facts.unseen_mm.size() ? facts.unseen_mm[n] : 0,
                           facts, findings);
        if (add_lumen_finding(tooth.canals[n], findings)) may_hold_two = true;
    }
    for (const SeenIsthmus& isthmus : facts.isthmuses) {
        findings.push_back("A band of pulp, " + millimetres(isthmus.thickness_mm, 2) +
                           " thick, runs between canals " + isthmus.first + " and " +
                           isthmus.second + " at depths from " +
                           millimetres(isthmus.from_depth_mm, 1) + " to " +
                           millimetres(isthmus.to_depth_mm, 1) +
                           "; instruments in the canals leave it untouched.");
    }
    add_danger_zones(tooth, findings);
    for (const PossibleCanal& possible : tooth.possible) {
        findings.push_back(
            "A further canal is possible (" + std::to_string(std::lround(100 * possible.presence)) +
            " in 100): " + millimetres(possible.from_nearest_mm, 1) + " " + possible.direction +
            " of canal " + possible.nearest_canal + ", first sign at a depth of " +
            millimetres(possible.first_sign_depth_mm, 1) + ", where " +
            millimetres(possible.floor_left_mm, 1) + " of dentine are left to the root's surface.");
    }
    const std::string width = millimetres(facts.least_width_mm, 2);
    for (const std::string& missing : missing_canals(tooth)) {
        findings.push_back("No " + missing + " was found; one of " + width +
                           " or more would have been seen " + searched_range(tooth) +
                           (may_hold_two
                                ? ", narrower ones and one in a long lumen cannot be excluded."
                                : ", narrower ones cannot be excluded."));
    }
    if (findings.empty() || missing_canals(tooth).empty()) {
        findings.push_back("With this scan's noise and sharpness canals of " + width +
                           " or more are seen; narrower ones cannot be excluded.");
    }
    if (facts.runs_into_bone) {
        findings.push_back(
            "In places this scan hardly shows where the tooth ends and bone or a neighbour begins; "
            "its outer surface and walls are uncertain there, and canals near it doubtful.");
    }
    if (facts.too_sharp) {
        findings.push_back(
            "The sharpness of this scan could not be measured, as beside much metal; widths, walls "
            "and what is stated of their error are doubtful.");
    }
    if (facts.cut_by_scan) {
        findings.push_back(
            "The tooth reaches the edge of the scan; canals, walls and depths there are not "
            "known.");
    }
    if (!facts.reference_given) {
        findings.push_back(
            "Depths are counted from the highest point of the crown, since no reference point was "
            "given.");
    }
    return findings;
}

}  // namespace anfract::tracing
