#include <algorithm>
#include <array>
#include <cmath>
#include <tuple>

#include "anfract/base/parallel.h"
#include "canal_case.h"

namespace anfract {
namespace {

/// Narrowest width of the section at a depth, between opposite walls.
double least_width_mm(const Lumen& lumen, double depth_mm) {
    const auto nearest = std::lround((depth_mm - lumen.depth_mm.front()) / lumen.spacing_mm());
    const int row = int(std::clamp<long>(nearest, 0, lumen.station_count() - 1));
    const int half = lumen.theta_count() / 2;
    double least = 2 * lumen.radius_mm.row(row).maxCoeff();
    for (int j = 0; j < half; ++j)
        least = std::min(least, lumen.radius_mm(row, j) + lumen.radius_mm(row, j + half));
    return least;
}

/// A device tried for a job.
struct Tried {
    const Device* device = nullptr;
    Passage passage;
    double goes_mm = 0;  ///< what the plan suggests
};

/// What a job wants, all common practice without a source.
struct Wish {
    Job job = Job::Rinse;
    double deepest_mm = 0;           ///< no further than this, whatever the device could do
    double back_when_wedged_mm = 0;  ///< a device that fills the canal is drawn back by this
    std::string habit;
};

Job job_of(DeviceKind kind) {
    switch (kind) {
        case DeviceKind::IrrigationCannula:
            return Job::Rinse;
        case DeviceKind::AgitationTip:
            return Job::Agitate;
        case DeviceKind::PaperPoint:
            return Job::Dry;
        case DeviceKind::Cone:
            return Job::Fit;
        case DeviceKind::InjectionCannula:
            return Job::Fill;
        case DeviceKind::CoronalCompactor:
            return Job::Coronal;
        default:
            return Job::Compact;
    }
}

std::array<Wish, 7> wishes(const CanalCase& canal) {
    const double depth = canal.plan.working_depth_mm;
    const double orifice = canal.native.depth_mm.front();
    const double third = orifice + (canal.plan.depth_to_foramen_mm - orifice) / 3;
    const double bend = bend_start_mm(canal.native);
    return {
        {{Job::Rinse, depth - 1, 1, "Loose and moving, 1 mm or more short of the working depth"},
         {Job::Agitate, depth - 2, 0.5, "2 mm short, free to swing"},
         {Job::Dry, depth, 0, "Until points come out dry"},
         {Job::Fit, depth, 0, ""},
         {Job::Compact, depth - 4, 1, "Ends 3 to 5 mm short, never wedged"},
         {Job::Fill, depth - 3, 1, "As far as the start of the bend, loose; the canal must be dry"},
         {Job::Coronal, std::min(third, bend), 0, "Only in the upper third, never into the bend"}}};
}

std::vector<const Device*> devices_for(const Tray& tray, Job job) {
    std::vector<const Device*> devices;
    for (const Device& device : tray.devices) {
        if (device.cuts() || device.stock < 1 || job_of(device.kind) != job) continue;
        devices.push_back(&device);
    }
    return devices;
}

/// How good a tried device is for its job; smaller is better. Ties end with the id, so that the
/// order is fixed.
auto rank(const Tried& tried, const CanalCase& canal, const Wish& wish) {
    const Device& device = *tried.device;
    // What stays short of the wish by less than a quarter of a millimetre is as deep as wished.
    const double short_quarters = std::floor((wish.deepest_mm - tried.goes_mm) * 4);
    double first = 0, second = 0;
    switch (wish.job) {
        case Job::Rinse:
            first = -device.bore_mm.value_or(0);
            break;
        case Job::Agitate:
        case Job::Coronal:
            first = device.tip_mm;
            break;
        case Job::Dry:
            first = -device.tip_mm;
            second = device.taper;
            break;
        case Job::Fit: {
            // The cone should hold at its end: the largest tip, and the taper of the final file.
            const double taper = canal.plan.final_size ? canal.plan.final_size->taper : 0.02;
            first = -device.tip_mm;
            second = std::abs(device.taper - taper);
            break;
        }
        case Job::Compact:
        case Job::Fill:
            first = -device.tip_mm;
            break;
    }
    return std::tuple(short_quarters, first, second, device.length_mm, device.id);
}

/// Where a cone may end within the tolerance of its diameter: dd / taper either way [ISO6877, from
/// memory].
std::optional<std::pair<double, double>> band_of(const Device& device, const CanalCase& canal,
                                                 double goes_mm) {
    if (device.kind != DeviceKind::Cone || device.tolerance_mm <= 0 || device.taper <= 0)
        return std::nullopt;
    const double reach = device.tolerance_mm / device.taper;
    return std::pair(std::max(0.0, goes_mm - reach),
                     std::min(canal.native.depth_mm.back(), goes_mm + reach));
}

std::string end_words(const Tried& tried, const Wish& wish) {
    const Passage& passage = tried.passage;
    if (passage.reaches_mm >= wish.deepest_mm - 0.05) return "";
    std::string words =
        "goes to " + mm_text(passage.reaches_mm) + ", stopped by " + to_string(passage.stopped_by);
    if (passage.stopped_by != StoppedBy::Length && passage.stopped_at_mm > 0 &&
        passage.stopped_at_mm < passage.reaches_mm - 1) {
        words += " at " + mm_text(passage.stopped_at_mm);
    }
    return words;
}

/// A cone that would lose more than this is too thin for the canal (a judgement of ours).
constexpr double most_trimmed_mm = 3;

/// A cone of even taper without its first `by_mm`.
Device cut_off(const Device& cone, double by_mm) {
    Device rest = cone;
    rest.tip_mm = cone.diameter_mm_at(by_mm);
    rest.length_mm -= by_mm;
    rest.working_part_mm -= by_mm;
    return rest;
}

/// The most of `trim_mm` in tenths that can be cut off a cone which still gets as deep: what is
/// left is thicker all along, and may hold above its end.
double most_cut_mm(const Tried& tried, const CanalCase& canal, double trim_mm) {
    const auto gets_there = [&](int tenths) {
        const auto passage = canal.rehearsed(cut_off(*tried.device, tenths / 10.0));
        return passage && passage->reaches_mm > tried.goes_mm - 0.5;
    };
    int kept = 0, wished = int(std::lround(trim_mm * 10));
    if (gets_there(wished)) return trim_mm;
    while (wished - kept > 1) {
        const int middle = (kept + wished) / 2;
        (gets_there(middle) ? kept : wished) = middle;
    }
    return kept / 10.0;
}

/// What to cut off a cone that is loose where it should hold: as much as its taper needs to fill
/// the canal there, a little at a time until it resists being drawn (common practice, no source).
std::string trim_words(const Tried& tried, const CanalCase& canal) {
    const Device& cone = *tried.device;
    const bool holds_above = tried.passage.reaches_mm < canal.plan.working_depth_mm - 0.05;
    // Where two canals meet it is wide: the cone is cut to the join instead.
    if (holds_above || cone.taper <= 0 || canal.plan.ends_at_join) return "";
    const double gap = least_width_mm(canal.order.shaped, tried.goes_mm) - cone.diameter_mm_at(0);
    const double trim = std::ceil(gap / cone.taper * 10) / 10;
    if (gap < 0.005 || trim < 0.1) return "";
    const std::string loose = "Loose at its end by " + mm_text(gap, 2);
    if (trim > most_trimmed_mm) {
        return loose +
               ", too much to trim, and no thicker one of the tray gets there: fit one to this "
               "canal, or fill its end another way. ";
    }
    const double most = most_cut_mm(tried, canal, trim);
    if (most < trim) {
        return loose + ", but with more than " + mm_text(most) +
               " trimmed from its tip it holds above and no longer gets there: take one of less "
               "taper, fit one to this canal, or fill its end another way. ";
    }
    return loose + ": trim about " + mm_text(trim) +
           " from its tip, a few tenths at a time, until it holds (tug-back). ";
}

/// How the cone of a canal that joins another is fitted (common practice, no source).
std::string join_words(const CanalCase& canal) {
    const auto& join = canal.plan.ends_at_join;
    if (!join) return "";
    return "Fit it with the cone of " + join->canal +
           " in place and cut it to end at the join, against that cone. ";
}

std::string fit_words(const Tried& tried, const CanalCase& canal,
                      const std::optional<std::pair<double, double>>& band) {
    std::string words = "May end between " + mm_text(band ? band->first : tried.goes_mm) + " and " +
                        mm_text(band ? band->second : tried.goes_mm) + " within its tolerance";
    const auto& binds = tried.passage.binds;
    if (!binds.empty() && binds.front().first < tried.goes_mm - 5) {
        words += "; binds from " + mm_text(binds.front().first) + " on, well above its tip";
    }
    const double short_mm = canal.plan.working_depth_mm - tried.goes_mm;
    if (short_mm > 0.5) {
        return words + "; it stays " + mm_text(short_mm) +
               " short, so that the end of the canal needs another filling; check by radiograph.";
    }
    const bool severe = sharpest_bend_per_mm(canal.own(canal.native)).value >= 1.0 / 4;
    words +=
        severe ? "; in so sharp a bend set it at full depth" : "; when used warm set it 1 mm short";
    return words + ", and check by radiograph.";
}

/// Irrigant is exchanged little more than a millimetre beyond a cannula (from memory).
std::string rinse_words(const Tried& tried, const Wish& wish, const CanalCase& canal) {
    const double beyond = canal.plan.working_depth_mm - tried.goes_mm;
    if (wish.job != Job::Rinse || beyond < 2.5) return "";
    return " The last " + mm_text(beyond) +
           " are not reached, and irrigant is exchanged little more than 1 mm beyond the cannula: "
           "agitate, and rinse longer.";
}

std::string why(const Tried& tried, const Wish& wish, const CanalCase& canal,
                const std::optional<std::pair<double, double>>& band) {
    std::string end = end_words(tried, wish);
    if (wish.job == Job::Fit) {
        if (!end.empty()) end[0] = char(std::toupper(end[0])), end += ". ";
        return end + trim_words(tried, canal) + join_words(canal) + fit_words(tried, canal, band);
    }
    return wish.habit + (end.empty() ? "." : "; " + end + ".") + rinse_words(tried, wish, canal);
}

Result<std::vector<Tried>> try_devices(const CanalCase& canal, const Wish& wish,
                                       const Progress& progress) {
    const std::vector<const Device*> devices = devices_for(canal.tray, wish.job);
    std::vector<Result<Passage>> passages(devices.size(), Passage{});
    parallel_for(devices.size(), canal.options.threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end && !progress.cancelled(); ++i) {
            passages[i] = canal.rehearsed(*devices[i]);
        }
    });
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "planning was stopped");
    std::vector<Tried> tried;
    for (std::size_t i = 0; i < devices.size(); ++i) {
        if (!passages[i]) {
            if (passages[i].error().code == ErrorCode::NotConverged) continue;
            return tl::unexpected(passages[i].error());
        }
        Passage& passage = *passages[i];
        double goes = passage.reaches_mm;
        if (passage.stopped_by == StoppedBy::Width) goes -= wish.back_when_wedged_mm;
        goes = std::min(goes, wish.deepest_mm);
        if (goes <= canal.native.depth_mm.front()) continue;  // does not enter the canal
        tried.push_back({devices[i], std::move(passage), goes});
    }
    std::sort(tried.begin(), tried.end(), [&](const Tried& a, const Tried& b) {
        return rank(a, canal, wish) < rank(b, canal, wish);
    });
    return tried;
}

const char* job_phrase(Job job) {
    switch (job) {
        case Job::Rinse:
            return "irrigation cannula";
        case Job::Agitate:
            return "agitation tip";
        case Job::Dry:
            return "paper point";
        case Job::Fit:
            return "cone";
        case Job::Compact:
            return "plugger or heat tip";
        case Job::Fill:
            return "injection cannula";
        case Job::Coronal:
            return "coronal compactor";
    }
    return "";
}

}  // namespace

Result<void> write_passive(CanalCase& canal, const Progress& progress) {
    for (const Wish& wish : wishes(canal)) {
        auto tried = try_devices(canal, wish, progress);
        if (!tried) return tl::unexpected(tried.error());
        if (tried->empty()) {
            const bool any = !devices_for(canal.tray, wish.job).empty();
            const bool room = wish.deepest_mm > canal.native.depth_mm.front();
            canal.plan.notes.push_back(
                !room ? "What is worked of this canal is too short for a " +
                            std::string(job_phrase(wish.job)) + "."
                : any
                    ? "No " + std::string(job_phrase(wish.job)) + " of the tray enters this canal."
                    : "The tray has no " + std::string(job_phrase(wish.job)) + ".");
            continue;
        }
        const std::size_t count =
            std::min<std::size_t>(tried->size(), std::size_t(canal.options.devices_per_job));
        for (std::size_t i = 0; i < count; ++i) {
            Tried& one = (*tried)[i];
            PassiveDevice line;
            line.job = wish.job;
            line.device = one.device->id;
            line.kind = one.device->kind;
            line.reaches_mm = one.goes_mm;
            line.stop_setting_mm = stop_setting_mm(one.goes_mm);
            line.stopped_by = one.passage.stopped_by;
            line.chosen = i == 0;
            line.band_mm = band_of(*one.device, canal, one.goes_mm);
            line.why = why(one, wish, canal, line.band_mm);
            line.passage = canal.add(std::move(one.passage), CanalState::Shaped);
            canal.plan.passive.push_back(line);
        }
    }
    return {};
}

}  // namespace anfract
