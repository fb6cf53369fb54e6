#include "anfract/phantom/tooth_design.h"

#include <algorithm>
#include <cstdlib>
#include <string_view>

#include "anfract/phantom/random.h"
#include "random_tooth.h"
#include "tooth_kinds.h"

namespace anfract {

namespace {

constexpr std::uint64_t design_stream = 1;

void vary_canal(CanalDesign& canal, Random& random) {
    canal.course_mm *= random.around(1, 0.035);
    canal.start_tilt_deg += Vec2(random.around(0, 1.5), random.around(0, 1.5));
    const double stronger = random.around(1, 0.12);
    for (BendDesign& bend : canal.bends) {
        bend.angle_deg *= stronger * random.around(1, 0.06);
        bend.toward_deg += random.around(0, 6);
    }
    const double wider = random.around(1, 0.08);
    for (WidthDesign& width : canal.widths) {
        width.short_mm *= wider;
        width.long_mm *= wider;
    }
    canal.long_axis_deg += random.around(0, 8);
    canal.foramen_offset_mm =
        std::clamp(canal.foramen_offset_mm * random.around(1, 0.2), 0.35, 1.1);
    canal.foramen_toward_deg += random.around(0, 25);
    canal.join_from_foramen_mm = random.uniform(2.2, 3.8);
}

const CanalDesign* parent_of(const ToothDesign& tooth, const std::string& name) {
    for (const CanalDesign& canal : tooth.canals) {
        if (canal.name == name) return &canal;
    }
    return nullptr;
}

void vary(ToothDesign& tooth, Random& random) {
    for (CanalDesign& canal : tooth.canals) {
        vary_canal(canal, random);
        const Vec2 shift(random.around(0, 0.1), random.around(0, 0.1));
        if (const CanalDesign* parent = parent_of(tooth, canal.leaves)) {
            // One canal up to the division.
            canal.orifice_mm = parent->orifice_mm;
            canal.start_tilt_deg = parent->start_tilt_deg;
            canal.long_axis_deg = parent->long_axis_deg;
            continue;
        }
        canal.orifice_mm += shift;
        if (const CanalDesign* parent = parent_of(tooth, canal.joins)) {
            // The distance of the two orifices varies by a quarter, near the published spread.
            const Vec2 apart = canal.orifice_mm - parent->orifice_mm;
            canal.orifice_mm = parent->orifice_mm + apart * random.around(1, 0.2);
        }
    }
    for (RootDesign& root : tooth.roots) {
        const double thicker = random.around(1, 0.04);
        root.half_md_start_mm *= thicker;
        root.half_md_middle_mm *= thicker;
        root.half_bl_start_mm *= thicker;
        root.half_bl_middle_mm *= thicker;
    }
}

using Maker = ToothDesign (*)();
struct KindEntry {
    PhantomKind kind;
    Maker make;
};

const std::vector<KindEntry>& entries() {
    static const std::vector<KindEntry> all{
        {{"lower-molar", "37", "two mesial canals that each curve twice, one distal canal"},
         lower_molar_design},
        {{"upper-molar", "26", "a second mesiobuccal canal that joins the first near the apex"},
         upper_molar_design},
        {{"lower-premolar", "34", "one canal that divides into two at mid root"},
         lower_premolar_design},
        {{"upper-lateral", "12", "one canal with a hook near the apex"}, upper_lateral_design},
        {{"narrowed", "46", "a calcified molar: canals of 0.1 to 0.3 mm, small chamber"},
         narrowed_design},
    };
    return all;
}

}  // namespace

const std::vector<PhantomKind>& phantom_kinds() {
    static const std::vector<PhantomKind> kinds = [] {
        std::vector<PhantomKind> list;
        for (const KindEntry& entry : entries()) list.push_back(entry.kind);
        return list;
    }();
    return kinds;
}

Result<ToothDesign> design_tooth(const std::string& kind, std::uint64_t seed) {
    for (const KindEntry& entry : entries()) {
        if (entry.kind.name != kind) continue;
        ToothDesign tooth = entry.make();
        Random random(seed, design_stream);
        vary(tooth, random);
        return tooth;
    }
    constexpr std::string_view drawn = "random";
    if (kind.starts_with(drawn) && (kind.size() == drawn.size() || kind[drawn.size()] == '-')) {
        const std::string fdi = kind.size() > drawn.size() ? kind.substr(drawn.size() + 1) : "";
        return random_tooth(fdi, seed).map([&](ToothDesign tooth) {
            tooth.kind = kind;
            return tooth;
        });
    }
    constexpr std::string_view system = "system-";
    if (kind.starts_with(system)) {
        std::optional<ToothDesign> tooth = canal_system_design(kind.substr(system.size()));
        if (!tooth) {
            return fail(ErrorCode::BadInput, "there is no such canal system: '" + kind + "'",
                        "phantom", "give system-I to system-VIII");
        }
        tooth->kind = kind;
        return std::move(*tooth);
    }
    constexpr std::string_view straight = "straight-";
    if (kind.starts_with(straight)) {
        // Not varied: what differs from seed to seed is its place and the noise.
        const int hundredths = std::atoi(kind.c_str() + straight.size());
        if (hundredths < 5 || hundredths > 60) {
            return fail(ErrorCode::BadInput, "a straight canal cannot be that wide: '" + kind + "'",
                        "phantom", "give straight-5 to straight-60, in hundredths of a millimetre");
        }
        ToothDesign tooth = straight_design(hundredths / 100.0);
        tooth.kind = kind;
        return tooth;
    }
    std::string names;
    for (const PhantomKind& known : phantom_kinds()) {
        names += (names.empty() ? "" : ", ") + known.name;
    }
    return fail(ErrorCode::NotFound, "there is no kind of tooth '" + kind + "'", "phantom",
                "choose one of " + names + ", random, straight-20, system-VI");
}

}  // namespace anfract
