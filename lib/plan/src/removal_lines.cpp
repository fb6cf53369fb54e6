#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "anfract/tooth/clinical_frame.h"
#include "anfract/tooth/tooth_number.h"
#include "anfract/tooth/view_measures.h"
#include "canal_case.h"
#include "watched_wall.h"

namespace anfract {
namespace {

constexpr double sheet_step_mm = 0.5;
constexpr int sheet_directions = 24;

/// The plane in which the canal bends most: normal to its coronal line and to the way it leaves it.
Vec3 view_of_largest_bend(const Lumen& lumen) {
    const Vec3 coronal = lumen.tangent_P.front();
    const Vec3 chord = lumen.point_P.back() - lumen.point_P.front();
    const Vec3 across = coronal.cross(chord);
    return across.norm() > 1e-6 ? Vec3(across.normalized()) : lumen.n1_P.front();
}

/// Mesial canals of lower molars: their wall toward the furcation is the thin one. The names are
/// the trade's: M, MB, ML, MM.
bool lower_mesial(const Tooth& tooth, const std::string& canal) {
    const auto number = tooth_number_from_fdi(tooth.fdi);
    return number && !number->upper() && number->molar() && canal.starts_with("M");
}

/// The canal before, taken as after where it lost less than anyone could see.
Lumen noticed(const Lumen& before, const Lumen& after) {
    constexpr double seen_mm = 0.01;
    Lumen lumen = before;
    lumen.radius_mm =
        (after.radius_mm - before.radius_mm > seen_mm).select(before.radius_mm, after.radius_mm);
    return lumen;
}

double three_decimals(double value) { return std::round(value * 1000) / 1000; }

SheetBeforeAndAfter sheet_of(const Lumen& before, const Lumen& after) {
    SheetBeforeAndAfter sheet;
    const int turn = std::max(1, after.theta_count() / sheet_directions);
    for (int j = 0; j < after.theta_count(); j += turn)
        sheet.theta_deg.push_back(360.0 * j / after.theta_count());
    const int step = std::max(1, int(std::lround(sheet_step_mm / after.spacing_mm())));
    for (int i = 0; i < after.station_count(); i += step) {
        sheet.depth_mm.push_back(three_decimals(after.depth_mm[std::size_t(i)]));
        auto& was = sheet.radius_before_mm.emplace_back();
        auto& is = sheet.radius_after_mm.emplace_back();
        auto& wall = sheet.wall_after_mm.emplace_back();
        for (int j = 0; j < after.theta_count(); j += turn) {
            was.push_back(three_decimals(before.radius_mm(i, j)));
            is.push_back(three_decimals(after.radius_mm(i, j)));
            const double left = after.wall_mm(i, j);
            wall.push_back(std::isnan(left) ? std::nullopt
                                            : std::optional<double>(three_decimals(left)));
        }
    }
    return sheet;
}

std::vector<std::string> sentences_of(const Removal& removal) {
    if (removal.volume_mm3 < unnoticed_mm3)
        return {
            "The order takes next to nothing from the wall: what cleans this canal is rinsing."};
    std::vector<std::string> said{"The order takes " + mm_text(removal.volume_mm3, 2) +
                                  "³ of dentine and leaves " +
                                  percent_text(removal.untouched_share, 0) +
                                  " of the canal's wall down to the working depth untouched."};
    // Below two hundredths of a millimetre the centring says nothing.
    if (removal.transport_mm >= 0.015) {
        said.push_back("The axis shifts by at most " + mm_text(removal.transport_mm, 2) + ", at " +
                       mm_text(removal.transport_depth_mm) +
                       (removal.centring
                            ? "; centring ratio there " + percent_text(*removal.centring, 0) +
                                  ", 100 % being perfect."
                            : "."));
    }
    const double straightened = removal.bend_before_deg - removal.bend_after_deg;
    if (std::abs(straightened) >= 0.5) {
        const std::string before = std::to_string(std::lround(removal.bend_before_deg));
        const std::string after = std::to_string(std::lround(removal.bend_after_deg));
        said.push_back("The bend (Schneider) goes from " + before + " to " + after + " degrees.");
    }
    if (removal.wall_mm) {
        said.push_back("Where it cuts, the thinnest wall left is " + mm_text(*removal.wall_mm, 2) +
                       " at " + mm_text(removal.wall_depth_mm) +
                       (removal.wall_side.empty() ? "" : ", toward " + removal.wall_side) +
                       (removal.danger_zone ? ": the danger zone toward the furcation." : "."));
    }
    return said;
}

}  // namespace

void write_removal(CanalCase& canal, const Tooth& tooth) {
    if (canal.order.steps.empty()) return;
    const Lumen before = canal.own(canal.native), after = canal.own(canal.order.shaped);
    Removal removal;
    removal.volume_mm3 = std::max(0.0, volume_mm3(after) - volume_mm3(before));
    removal.untouched_share = untouched_share(before, after, canal.plan.working_depth_mm);
    const AtDepth transport = largest_transport_mm(before, after);
    removal.transport_mm = transport.value;
    removal.transport_depth_mm = transport.depth_mm;
    removal.centring = centring_at(before, after, transport.depth_mm);
    const Vec3 view = view_of_largest_bend(before);
    removal.bend_before_deg = schneider_in_view(Polyline(axis_P(before)), view);
    removal.bend_after_deg = schneider_in_view(Polyline(axis_P(after)), view);
    const ClinicalFrame frame =
        clinical_frame(tooth.fdi, before.point_P.back() - before.point_P.front());
    const bool mesial_root = frame.known && lower_mesial(tooth, canal.plan.canal);
    removal.along =
        watched_wall(before, after, mesial_root ? std::optional<Vec3>(-frame.mesial) : std::nullopt,
                     canal.wall_to_mm());
    if (const auto thinnest =
            thinnest_touched_place(noticed(before, after), after, canal.wall_to_mm())) {
        removal.wall_mm = thinnest->wall_mm;
        removal.wall_depth_mm = thinnest->depth_mm;
        removal.wall_toward_P = thinnest->toward_P;
        removal.wall_side = direction_name(frame, thinnest->toward_P);
        removal.danger_zone = mesial_root && thinnest->toward_P.dot(frame.mesial) < -0.5;
    }
    removal.sentences = sentences_of(removal);
    canal.plan.removal = std::move(removal);
    canal.plan.sheet = sheet_of(before, after);
}

}  // namespace anfract
