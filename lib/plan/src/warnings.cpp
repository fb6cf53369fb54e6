#include <algorithm>
#include <cmath>
#include <numbers>

#include "canal_case.h"

namespace anfract {
namespace {

/// Bends sharper than this are rare (a judgement of ours: of 1163 canals the sharpest had 2 mm
/// [Schafer2002]).
constexpr double doubtful_radius_mm = 1.5;

/// Collects the warnings of one canal; each rule is a function of its own.
class Watch {
  public:
    Watch(const CanalCase& canal, const Tooth& tooth) : case_(canal), tooth_(tooth) {}

    std::vector<PlanWarning> all() {
        presence();
        depth();
        measured_depth();
        reach();
        bend();
        native_wall();
        wall_left();
        danger_zone();
        untouched();
        transport();
        likely_failure();
        narrow_end();
        wide_end();
        length();
        joined();
        return std::move(warnings_);
    }

  private:
    void say(int severity, std::string text, std::string reason,
             std::optional<double> depth_mm = {}) {
        warnings_.push_back(
            {std::move(text), std::move(reason), case_.plan.canal, depth_mm, severity, {}});
    }

    void presence() {
        const auto& presence = case_.plan.presence;
        if (!presence || *presence >= 0.9) return;
        say(*presence < 0.5 ? 2 : 1,
            "This canal may not be there: look for its orifice under magnification before cutting "
            "for it.",
            "Probability " + percent_text(*presence, 0) + ".", case_.native.depth_mm.front());
    }

    void depth() {
        const auto& sd = case_.plan.depth_sd_mm;
        if (!sd || *sd < 0.3 || case_.plan.ends_at_join) return;
        say(2, "The depth of the foramen is uncertain.", "Standard deviation " + mm_text(*sd) + ".",
            case_.plan.depth_to_foramen_mm);
    }

    /// A millimetre is more than an apex locator or a scan is off by (a caution of ours).
    void measured_depth() {
        const auto& measured = case_.plan.measured;
        if (!measured || std::abs(measured->difference_mm) < 1) return;
        say(std::abs(measured->difference_mm) < 2 ? 2 : 3,
            "Measured and scanned depth disagree: check the reference point, then take a "
            "radiograph with a file in place before shaping.",
            "Measured " + mm_text(measured->from_scan_mm + measured->difference_mm) +
                ", from the scan " + mm_text(measured->from_scan_mm) + ".",
            case_.plan.working_depth_mm);
    }

    void reach() {
        if (only_finds_the_way(case_.plan)) {
            say(3,
                "Only a scouting file gets to the working depth; nothing widens this canal within "
                "the limits.",
                "Rinse long and agitate, take a radiograph with the file in place before going on "
                "by feel with bent hand files, and think of a referral.",
                case_.plan.working_depth_mm);
        }
        if (case_.plan.final_size) return;
        say(3, "Nothing in the tray gets to the working depth.",
            "See the notes of this canal for what would change this.",
            case_.plan.smallest.reaches_mm);
    }

    /// Classes of [Estrela2008] (from memory): severe up to a radius of 4 mm, moderate to 8 mm.
    void bend() {
        const AtDepth sharpest = sharpest_bend_per_mm(case_.own(case_.native));
        if (sharpest.value < 1.0 / 8) return;
        const bool severe = sharpest.value >= 1.0 / 4;
        say(severe ? 3 : 2,
            severe ? "Bends very sharply: smallest files first, no apical push, stay small, and "
                     "discard each file "
                     "after this canal."
                   : "Bends sharply: smallest files first, no apical push, stay small.",
            "Radius " + mm_text(1 / sharpest.value) + "." +
                (1 / sharpest.value < doubtful_radius_mm
                     ? " So sharp a bend may be an error of the tracing: look at the scan there."
                     : ""),
            sharpest.depth_mm);
    }

    void native_wall() {
        const auto wall = thinnest_wall_mm(case_.native, case_.wall_to_mm());
        if (!wall) {
            say(1,
                "The thickness of the walls is not known; the plan cannot guard against "
                "perforation.",
                "The tooth's model has no walls.");
            return;
        }
        const double least = case_.options.wall_least_mm + case_.wall_error_mm;
        if (wall->value >= least) return;
        say(3, "The wall is very thin as it is: do not cut toward it.",
            "Thinnest " + mm_text(wall->value, 2) + ", error of measurement " +
                mm_text(case_.wall_error_mm, 2) + ".",
            wall->depth_mm);
    }

    void wall_left() {
        const auto wall =
            thinnest_touched_wall_mm(case_.native, case_.order.shaped, case_.wall_to_mm());
        const double flag = case_.options.wall_flag_mm + case_.wall_error_mm;
        if (!wall || wall->value >= flag) return;
        say(2, "The plan leaves a thin wall.",
            mm_text(wall->value, 2) + " of dentine would be left, error of measurement " +
                mm_text(case_.wall_error_mm, 2) + ".",
            wall->depth_mm);
    }

    /// The wall toward the furcation of lower mesial roots is 1.1 mm thick on the mean and 0.7 mm
    /// at the least over 7 mm below the furcation [DeDeus2019].
    void danger_zone() {
        const auto& removal = case_.plan.removal;
        if (!removal || !removal->danger_zone) return;
        say(*removal->wall_mm < 2 * case_.options.wall_flag_mm ? 2 : 1,
            "The danger zone toward the furcation is cut: lean on the opposite wall.",
            mm_text(*removal->wall_mm, 2) + " of dentine would be left.", removal->wall_depth_mm);
    }

    /// Where files touch next to nothing the final size promises more than it does (a judgement of
    /// ours).
    void untouched() {
        const auto& removal = case_.plan.removal;
        if (!removal || !case_.plan.final_size || only_finds_the_way(case_.plan)) return;
        if (removal->untouched_share < 0.9) return;
        say(1,
            "The files of this order hardly touch the wall: the canal is wider than what the "
            "limits "
            "let round its bend.",
            percent_text(removal->untouched_share, 0) +
                " untouched; rinsing cleans it, and hand files bent beforehand along the walls.");
    }

    void transport() {
        const Lumen before = case_.own(case_.native);
        const double from =
            case_.plan.working_depth_mm - (before.depth_mm.back() - before.depth_mm.front()) / 3;
        const AtDepth shift = largest_transport_mm(before, case_.own(case_.order.shaped), from);
        if (shift.value < 0.15) return;
        say(2, "The plan shifts the canal near its end.",
            "Transport " + mm_text(shift.value, 2) + ".", shift.depth_mm);
    }

    /// Worth a word from one in ten, and no small matter from three and from five in ten (a
    /// judgement of ours).
    void likely_failure() {
        const auto& risks = case_.plan.risks;
        if (!risks || risks->any < 0.1) return;
        std::string worst;
        for (const PlanRisk& line : risks->risks) {
            if (line.risk.probability >= 0.1) worst += (worst.empty() ? "" : " ") + line.sentence;
        }
        if (risks->any >= 0.3) worst += gentler_words();
        say(risks->any < 0.3   ? 1
            : risks->any < 0.5 ? 2
                               : 3,
            "This order does not go as planned in " +
                std::to_string(std::lround(100 * risks->any)) +
                " of 100 likely canals: when an instrument stops, end with the one before it.",
            worst);
    }

    std::string gentler_words() const {
        for (const PlanAlternative& other : case_.plan.alternatives) {
            if (other.kind != AlternativeOrder::Kind::Gentle) continue;
            const Device* const last = case_.tray.find(other.order.back().device);
            if (last) return " The gentle order ends with " + name_of(*last) + ".";
        }
        return "";
    }

    void narrow_end() {
        if (!tooth_.scan) return;
        const double voxel = tooth_.scan->voxel_mm.maxCoeff();
        const double end = diameter_mm_at(case_.native, case_.plan.working_depth_mm);
        if (voxel <= 0 || end >= 2 * voxel) return;
        say(1, "The end of the canal is narrower than the scan resolves; its width is inferred.",
            "Width " + mm_text(end, 2) + ", voxel " + mm_text(voxel, 2) + ".",
            case_.plan.working_depth_mm);
    }

    void wide_end() {
        const double end = diameter_mm_at(case_.native, case_.native.depth_mm.back());
        if (end < 0.4 || case_.plan.ends_at_join) return;
        say(2, "The foramen is wide: irrigant and filling can pass it.",
            "Width " + mm_text(end, 2) + ".", case_.plan.depth_to_foramen_mm);
    }

    /// A long molar runs to about 24 mm (common practice, no source).
    void length() {
        if (case_.plan.working_depth_mm < 23.5) return;
        say(1, "A long canal: instruments of 25 mm leave little for the stop.",
            "Working depth " + mm_text(case_.plan.working_depth_mm) + ".");
    }

    void joined() {
        const auto& join = case_.plan.ends_at_join;
        if (!join) return;
        say(2,
            "Joins " + join->canal + ": worked to the join only, the shared part through " +
                join->canal + ".",
            "A file pushed on from here meets the other's at an angle.", join->depth_mm);
    }

    const CanalCase& case_;
    const Tooth& tooth_;
    std::vector<PlanWarning> warnings_;
};

}  // namespace

std::vector<PlanWarning> warnings_of(const CanalCase& canal, const Tooth& tooth) {
    return Watch(canal, tooth).all();
}

}  // namespace anfract
