// Over many seeds the invented teeth stay within published anatomy.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "anfract/phantom/phantom.h"
#include "tooth_solid.h"
#include "truth.h"

namespace anfract {
namespace {

constexpr int seeds = 8;

struct Made {
    ToothSolid solid;
    Tooth tooth;
};

// Truth alone, in the tooth frame: no scan is needed here. Made once for all tests.
const Made& made(const std::string& kind, std::uint64_t seed) {
    static std::map<std::pair<std::string, std::uint64_t>, Made> known;
    const auto key = std::make_pair(kind, seed);
    if (const auto at = known.find(key); at != known.end()) return at->second;
    ToothSolid solid(*design_tooth(kind, seed));
    Tooth tooth = true_tooth(solid, Pose{}, 2);
    return known.emplace(key, Made{std::move(solid), std::move(tooth)}).first->second;
}

double diameter_at(const Canal& canal, double from_foramen_mm) {
    const double depth = canal.depth_to_foramen_mm - from_foramen_mm;
    const auto at = std::find_if(canal.samples.begin(), canal.samples.end(),
                                 [&](const CanalSample& s) { return s.depth_mm >= depth; });
    return at->diameter_mm;
}

// Medians at 1, 2 and 5 mm [Wu2000], as the diameter of equal area; the seed changes them by up to
// 12 %.
TEST(Anatomy, CanalsAreAsWideAsPublished) {
    struct Row {
        const char* kind;
        const char* canal;
        double bl[3], md[3];
    };
    const Row rows[] = {{"lower-molar", "MB", {.40, .42, .64}, {.21, .26, .32}},
                        {"lower-molar", "ML", {.38, .44, .61}, {.28, .24, .35}},
                        {"lower-molar", "D", {.46, .50, 1.07}, {.35, .34, .59}},
                        {"upper-molar", "DB", {.22, .33, .49}, {.17, .25, .31}},
                        {"upper-molar", "P", {.29, .40, .55}, {.33, .40, .74}},
                        {"upper-lateral", "I", {.45, .60, .77}, {.33, .33, .47}}};
    const double places[3] = {1, 2, 5};
    for (std::uint64_t seed = 1; seed <= seeds; seed += 3) {
        for (const Row& row : rows) {
            const Made& m = made(row.kind, seed);
            for (int i = 0; i < 3; ++i) {
                const double published = std::sqrt(row.bl[i] * row.md[i]);
                EXPECT_NEAR(diameter_at(*m.tooth.find(row.canal), places[i]), published,
                            0.16 * published)
                    << row.kind << " " << row.canal << " " << places[i];
            }
        }
    }
}

TEST(Anatomy, NarrowedCanalsStayBelowAThirdOfAMillimetre) {
    for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
        for (const Canal& canal : made("narrowed", seed).tooth.canals) {
            for (const CanalSample& s : canal.samples) {
                EXPECT_GT(s.diameter_mm, 0.10);
                EXPECT_LT(s.diameter_mm, 0.31) << canal.name;
            }
        }
    }
}

// Mesial roots of lower molars, over 7 mm below the furcation: 0.67-1.93 mm for MB, 0.77-1.89 for
// ML [DeDeus2019].
TEST(Anatomy, MesialWallsAreWithinThePublishedRange) {
    for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
        const Made& m = made("lower-molar", seed);
        const double furcation_z = m.solid.design().crown.trunk_end_z_mm;
        for (const char* name : {"MB", "ML"}) {
            double least = 9;
            for (const CanalSample& s : m.tooth.find(name)->samples) {
                if (s.point_P.z() > furcation_z && s.point_P.z() < furcation_z + 7) {
                    least = std::min(least, *s.wall_min_mm);
                }
            }
            EXPECT_GT(least, 0.67) << name << " seed " << seed;
            EXPECT_LT(least, 1.93) << name << " seed " << seed;
        }
    }
}

// MB-MB2 1.91 +/- 0.59 mm (PMID 30895057), held within 1.5 standard deviations; the join 2-4 mm
// from the apex.
TEST(Anatomy, TheSecondMesiobuccalCanalLiesWhereItShould) {
    for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
        const Made& m = made("upper-molar", seed);
        const Canal& mb2 = *m.tooth.find("MB2");
        EXPECT_NEAR((mb2.orifice_P - m.tooth.find("MB")->orifice_P).norm(), 1.91, 1.5 * 0.59);
        ASSERT_TRUE(mb2.joins.has_value());
        const double from_foramen = mb2.depth_to_foramen_mm - mb2.joins->depth_mm;
        EXPECT_GT(from_foramen, 2.0);
        EXPECT_LT(from_foramen, 4.0);
    }
}

// The foramen lies beside the root's end; 0.43-1.05 mm are the means of molar roots [Wolf2017]. The
// end of the root is the farthest point of its surface along its axis.
TEST(Anatomy, ForaminaLieBesideTheEndOfTheRoot) {
    for (const PhantomKind& kind : phantom_kinds()) {
        for (std::uint64_t seed = 1; seed <= 4; ++seed) {
            const Made& m = made(kind.name, seed);
            for (const RootDesign& root : m.solid.design().roots) {
                if (root.until < 1) continue;
                const auto& canals = m.solid.canals();
                const auto canal =
                    std::find_if(canals.begin(), canals.end(),
                                 [&](const CanalSolid& c) { return c.name == root.canal; });
                const auto index = static_cast<std::size_t>(&root - m.solid.design().roots.data());
                const VaryingTube::Station& tip = m.solid.roots()[index].stations().back();
                const Vec3 end = tip.centre + root.tip_radius_mm * tip.tangent;
                const double offset = (canal->foramen_T - end).norm();
                EXPECT_GT(offset, 0.25) << kind.name << " " << root.canal;
                EXPECT_LT(offset, 1.3) << kind.name << " " << root.canal;
            }
        }
    }
}

// Depths from cusp to foramen between 18 and 25.5 mm: textbook lengths of these teeth lie
// between 19.4 and 22.8 mm (from memory), and depths run obliquely and round bends.
TEST(Anatomy, TeethAreAsLongAsTeeth) {
    for (const PhantomKind& kind : phantom_kinds()) {
        for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
            for (const Canal& canal : made(kind.name, seed).tooth.canals) {
                EXPECT_GT(canal.depth_to_foramen_mm, 18.0) << kind.name << " " << canal.name;
                EXPECT_LT(canal.depth_to_foramen_mm, 25.5) << kind.name << " " << canal.name;
            }
        }
    }
}

// A canal that curves twice has two bends with a turn back between them: the direction in the
// mesiodistal plane first swings distally by at least 15 degrees, then mesially by at least 8.
TEST(Anatomy, MesialCanalsOfTheLowerMolarCurveTwice) {
    for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
        const Made& m = made("lower-molar", seed);
        for (const char* name : {"MB", "ML"}) {
            const auto& samples = m.tooth.find(name)->samples;
            double first = 0, most_distal = 90, later = -90;
            for (std::size_t i = 5; i + 32 < samples.size(); ++i) {
                const Vec3 t = samples[i + 5].point_P - samples[i - 5].point_P;
                const double lean = std::atan2(t.x(), t.z()) * 180 / M_PI;  // positive: mesial
                if (i == 5) first = lean;
                if (lean < most_distal) {
                    most_distal = lean;
                    later = lean;
                }
                later = std::max(later, lean);
            }
            EXPECT_GT(first - most_distal, 15) << name << " seed " << seed;
            EXPECT_GT(later - most_distal, 8) << name << " seed " << seed;
        }
    }
}

}  // namespace
}  // namespace anfract
