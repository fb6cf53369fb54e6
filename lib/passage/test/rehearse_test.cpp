#include "anfract/passage/rehearse.h"

#include <gtest/gtest.h>

#include "anfract/tray/tray_file.h"
#include "canals.h"

namespace anfract {
namespace {

using test::canal_of;
using test::CanalShape;
using test::rod;

Lumen lumen(const CanalShape& shape) { return *lumen_of(canal_of(shape)); }

TEST(Rehearse, ATHinRodComesToTheForamen) {
    const auto passage = rehearse(lumen({}), rod(0.1, 60000, 30));
    ASSERT_TRUE(passage) << passage.error().sentence();
    printf("%s push %g strain %g\n", passage->why.c_str(), passage->push_force_N,
           passage->peak_strain);
    EXPECT_EQ(passage->stopped_by, StoppedBy::Foramen);
}

TEST(Rehearse, EveryDeviceOfTheGenericTray) {
    const Lumen l = lumen({});
    for (const Device& device : generic_tray().devices) {
        const auto p = rehearse(l, device);
        ASSERT_TRUE(p) << p.error().sentence();
        printf("%-24s %6.2f %-9s strain %.4f push %.3f torque %.3f | %s\n", device.id.c_str(),
               p->reaches_mm, to_string(p->stopped_by).c_str(), p->peak_strain, p->push_force_N,
               p->torque_mNm, p->why.c_str());
    }
}

}  // namespace
}  // namespace anfract
