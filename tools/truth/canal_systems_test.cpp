// The eight canal systems of [Vertucci1984] from scan to class and code: each tooth is traced with
// one click and named by what its canals do.

#include <gtest/gtest.h>

#include <algorithm>

#include "anfract/tooth/canal_system.h"
#include "trial.h"

namespace anfract::truth {
namespace {

struct System {
    const char* type;
    const char* fdi_code;        ///< [Ahmed2017]; the tooth in ISO 3950
    const char* universal_code;  ///< the same tooth is 13 there [ISO3950]
};

void PrintTo(const System& system, std::ostream* out) { *out << system.type; }

/// How far the orifices and foramina of one tooth lie, at most, from the nearest of another.
double furthest_end_mm(const Tooth& tooth, const Tooth& other) {
    double furthest = 0;
    for (const Canal& canal : tooth.canals) {
        double orifice = 1e9, foramen = 1e9;
        for (const Canal& o : other.canals) {
            orifice = std::min(orifice, (canal.orifice_P - o.orifice_P).norm());
            foramen = std::min(foramen, (canal.foramen_P - o.foramen_P).norm());
        }
        furthest = std::max({furthest, orifice, foramen});
    }
    return furthest;
}

class TraceOfASystem : public testing::TestWithParam<System> {};

// Types and codes from memory of the papers. That IV and V are not taken for VI or VII is held
// by their own lines.
TEST_P(TraceOfASystem, IsCalledByItsTypeAndCode) {
    PhantomOptions options;
    options.kind = std::string("system-") + GetParam().type;
    options.voxel_mm = 0.15;
    const Phantom phantom = *make_phantom(options, Progress());
    const auto tooth = trace(phantom.volume, request_for(phantom), Progress());
    ASSERT_TRUE(tooth) << tooth.error().sentence();
    const std::vector<Root> roots = roots_of(*tooth);
    ASSERT_EQ(roots.size(), 1U);
    EXPECT_EQ(vertucci_type(roots.front().course), GetParam().type)
        << to_string(roots.front().course);
    EXPECT_EQ(canal_code(*tooth).text(), GetParam().fdi_code);
    EXPECT_EQ(canal_code(*tooth, ToothNotation::Universal).text(), GetParam().universal_code);
    // Which way from an orifice to a foramen is called whose is a convention where canals meet
    // twice; where ways begin and end is none.
    EXPECT_LT(furthest_end_mm(*tooth, phantom.truth), 0.4);
    EXPECT_LT(furthest_end_mm(phantom.truth, *tooth), 0.4);
    // All of them lie in one row from buccal to palatal.
    for (const Canal& canal : tooth->canals)
        EXPECT_TRUE(canal.name == "main" || canal.name[0] == 'B' || canal.name[0] == 'P')
            << canal.name;
}
INSTANTIATE_TEST_SUITE_P(
    Types, TraceOfASystem,
    testing::Values(System{"I", "1 25 1", "1 13 1"}, System{"II", "1 25 2-1", "1 13 2-1"},
                    System{"III", "1 25 1-2-1", "1 13 1-2-1"}, System{"IV", "1 25 2", "1 13 2"},
                    System{"V", "1 25 1-2", "1 13 1-2"}, System{"VI", "1 25 2-1-2", "1 13 2-1-2"},
                    System{"VII", "1 25 1-2-1-2", "1 13 1-2-1-2"},
                    System{"VIII", "1 25 3", "1 13 3"}));

}  // namespace
}  // namespace anfract::truth
