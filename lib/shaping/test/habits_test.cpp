// Habits of the trade: common practice, no source. None is written into the search as a rule; they
// have to come out of the mechanics.

#include <gtest/gtest.h>

#include "advance.h"
#include "anfract/passage/lumen.h"
#include "anfract/shaping/order.h"
#include "anfract/shaping/remove.h"
#include "anfract/shaping/shape_measures.h"
#include "anfract/tray/tray_file.h"
#include "attempt.h"
#include "test_lumens.h"

namespace anfract {
namespace {

using testing::CanalShape;

double bound_mm(const Passage& passage) {
    double length = 0;
    for (const auto& [from, to] : passage.binds) length += to - from;
    return length;
}

/// Works the instruments down in turn and returns the longest stretch any of them binds along.
double longest_bind_mm(const Lumen& native, const std::vector<Device>& order) {
    Lumen lumen = native;
    double longest = 0;
    for (const Device& device : order) {
        const auto advance = advance_to(lumen, device, native.depth_mm.back() - 0.5, 1, {});
        EXPECT_TRUE(advance);
        if (!advance) return 0;
        longest = std::max(longest, bound_mm(advance->passage));
        lumen = after(lumen, device, advance->passage);
    }
    return longest;
}

// Two instruments of one taper work the same stretch of wall; two tapers in turn bind over shorter
// lengths.
TEST(Habits, TwoTapersInTurnBindOverShorterLengthsThanTwoSizesOfOne) {
    CanalShape shape;
    shape.length_mm = 12;
    // As a first file 015/.04 leaves it.
    shape.foramen_diameter_mm = 0.15;
    shape.orifice_diameter_mm = 0.15 + 0.04 * 12;
    const Lumen native = testing::lumen(shape);
    const double one_taper = longest_bind_mm(native, {testing::file(0.19, 0.04)});
    const double another = longest_bind_mm(native, {testing::file(0.19, 0.02)});
    EXPECT_GT(one_taper, 8);
    EXPECT_LT(another, 0.6 * one_taper);
}

// A steep cone can bind in the coronal part before its tip arrives.
TEST(Habits, ASteepConeBindsCoronally) {
    CanalShape shape;
    shape.foramen_diameter_mm = 0.30;
    shape.orifice_diameter_mm = 0.60;  // a taper of 0.025
    const Lumen native = testing::lumen(shape);
    Device cone = testing::file(0.25, 0.06, 28, DeviceKind::Cone);
    cone.material = NamedMaterial::GuttaPercha;
    cone.length_mm = 28;
    const auto steep = rehearse(native, cone);
    cone.taper = 0.02;
    const auto slender = rehearse(native, cone);
    ASSERT_TRUE(steep && slender);
    EXPECT_LT(steep->reaches_mm, native.depth_mm.back() - 3);
    EXPECT_LT(steep->stopped_at_mm, native.depth_mm.front() + 2);
    EXPECT_GT(slender->reaches_mm, native.depth_mm.back() - 0.6);
}

Tray one_length() {
    Tray tray;
    for (const Device& device : generic_tray().devices) {
        if (device.cuts() && device.length_mm == 25) tray.devices.push_back(device);
    }
    return tray;
}

// A wide straight canal is shaped well above its own width; a sharp bend ends near 014 to 017 with
// a taper near .03, and never at 020 to 035.
TEST(Habits, FinalSizesAreThoseOfExperiencedHands) {
    CanalShape wide;
    wide.foramen_diameter_mm = 0.30;
    wide.orifice_diameter_mm = 1.0;
    const auto straight = find_order(testing::lumen(wide), one_length());
    ASSERT_TRUE(straight && straight->final_step);
    const Device& large = straight->steps[*straight->final_step].device;
    EXPECT_GE(large.tip_mm, 0.35);
    EXPECT_GE(large.taper, 0.02);

    CanalShape sharp;
    sharp.straight_mm = 7;
    sharp.arc_radius_mm = 3;
    sharp.arc_deg = 70;
    sharp.orifice_diameter_mm = 0.6;
    sharp.foramen_diameter_mm = 0.14;
    const auto bent = find_order(testing::lumen(sharp), one_length());
    ASSERT_TRUE(bent && bent->final_step);
    const Device& small = bent->steps[*bent->final_step].device;
    EXPECT_GE(small.tip_mm, 0.13);
    EXPECT_LE(small.tip_mm, 0.17);
    EXPECT_LE(small.taper, 0.04);
}

// Small instruments first and again and again: a canal narrower than a 006 along most of its length
// is still opened with it, pass by pass.
TEST(Habits, ANarrowedCanalIsOpenedPassByPass) {
    CanalShape shape;
    shape.arc_radius_mm = 10;
    shape.arc_deg = 30;
    shape.orifice_diameter_mm = 0.20;
    shape.foramen_diameter_mm = 0.14;
    const auto order = find_order(testing::lumen(shape), one_length());
    ASSERT_TRUE(order);
    ASSERT_TRUE(order->final_step);
    EXPECT_EQ(order->steps.front().device.id, "hand-006-25");
    EXPECT_GT(order->steps.front().passes, 1);
}

/// The canal with its line wrinkled sideways, as it comes out of a scan.
Lumen wrinkled(const CanalShape& shape, double amplitude_mm, double wavelength_mm) {
    Lumen made = testing::lumen(shape);
    const std::size_t count = made.depth_mm.size();
    for (std::size_t i = 0; i < count; ++i) {
        const double phase = 2 * std::numbers::pi * made.depth_mm[i] / wavelength_mm;
        made.point_P[i] += amplitude_mm * std::sin(phase) * made.n2_P[i];
    }
    for (std::size_t i = 0; i < count; ++i) {
        const std::size_t above = i == 0 ? 0 : i - 1, below = std::min(i + 1, count - 1);
        const Vec3 tangent = (made.point_P[below] - made.point_P[above]).normalized();
        made.tangent_P[i] = tangent;
        made.n1_P[i] = (made.n1_P[i] - made.n1_P[i].dot(tangent) * tangent).normalized();
        made.n2_P[i] = tangent.cross(made.n1_P[i]);
    }
    return made;
}

// Where no file gets down, the upper part is opened and the small files go further.
TEST(Habits, ACalcifiedCanalIsOpenedAboveSoThatTheSmallestFileGoesFurther) {
    CanalShape shape;
    shape.straight_mm = 6;
    shape.arc_radius_mm = 6;
    shape.arc_deg = 50;
    shape.orifice_diameter_mm = 0.24;
    shape.foramen_diameter_mm = 0.14;
    const Lumen native = wrinkled(shape, 0.02, 2);
    const auto order = find_order(native, one_length());
    ASSERT_TRUE(order);
    double alone_mm = 0, deepest_mm = 0;
    bool opened = false;
    for (const OrderStep& step : order->steps) {
        if (step.action == StepAction::Open) {
            opened = true;
            // Nothing is opened where no hand file has been.
            EXPECT_LE(step.depth_mm, deepest_mm + 1e-9);
        }
        if (!opened) alone_mm = std::max(alone_mm, step.depth_mm);
        deepest_mm = std::max(deepest_mm, step.depth_mm);
    }
    EXPECT_TRUE(opened);
    EXPECT_GT(deepest_mm, alone_mm + 0.5);
    EXPECT_GT(alone_mm, native.depth_mm.front() + 2);
}

/// The canal of a shape as a scan may show it, its line wrinkled by `wrinkle_mm` in two planes.
Lumen traced(const CanalShape& shape, double wrinkle_mm) {
    const Lumen smooth = testing::lumen(shape);
    Canal canal;
    canal.name = "M";
    for (int i = 0; i < smooth.station_count(); ++i) {
        const auto at = std::size_t(i);
        CanalSample sample;
        sample.depth_mm = smooth.depth_mm[at];
        const double s = sample.depth_mm - smooth.depth_mm.front();
        const double grown = wrinkle_mm * std::min(1.0, s);  // the orifice stays where it is
        sample.point_P = smooth.point_P[at] +
                         grown * (std::sin(2 * std::numbers::pi * s / 2.3) * smooth.n1_P[at] +
                                  std::sin(2 * std::numbers::pi * s / 1.7 + 1) * smooth.n2_P[at]);
        sample.diameter_mm = 2 * smooth.radius_mm(i, 0);
        sample.diameter_short_mm = sample.diameter_long_mm = sample.diameter_mm;
        canal.samples.push_back(sample);
    }
    canal.orifice_P = canal.samples.front().point_P;
    canal.foramen_P = canal.samples.back().point_P;
    canal.length_mm = smooth.depth_mm.back() - smooth.depth_mm.front();
    canal.depth_to_foramen_mm = smooth.depth_mm.back();
    return *lumen_of(canal);
}

// Curved mesial canals are finished at 025/.04 to 030/.04 (common practice, no source), 0.37 to
// 0.42 mm wide 3 mm above the tip. Wrinkles of a traced line, a fifth of a voxel high, once kept
// them at 017/.03.
TEST(Habits, ACurvedCanalComesToItsSizeThroughTheWrinklesOfItsTracedLine) {
    CanalShape shape;
    shape.arc_radius_mm = 10;
    shape.arc_deg = 35;
    shape.straight_mm = 6;
    shape.orifice_diameter_mm = 0.6;
    for (const double wrinkle_mm : {0.0, 0.02}) {
        const auto order = find_order(traced(shape, wrinkle_mm), generic_tray(), {});
        ASSERT_TRUE(order);
        ASSERT_TRUE(order->final_step);
        const Device& last = order->steps[*order->final_step].device;
        EXPECT_GE(final_size_mm(last, {}), 0.37) << last.id << " at " << wrinkle_mm;
        EXPECT_LE(final_size_mm(last, {}), 0.42) << last.id << " at " << wrinkle_mm;
    }
}

// Nobody picks his way down a canal of half a millimetre and more with a 006, or takes a size
// through it that touches nothing (common practice, no source), however it bends.
TEST(Habits, AWideBentCanalIsNotWorkedWithWhatTakesNothing) {
    CanalShape shape;
    shape.arc_radius_mm = 4;
    shape.arc_deg = 45;
    shape.straight_mm = 8;
    shape.orifice_diameter_mm = 1.0;
    shape.foramen_diameter_mm = 0.5;
    const auto order = find_order(testing::lumen(shape), one_length());
    ASSERT_TRUE(order && order->final_step);
    EXPECT_LE(order->steps.size(), 2u);
    EXPECT_GE(order->steps.front().device.tip_mm, 0.095);
    EXPECT_GE(order->steps.back().device.tip_mm, 0.25);
}

// A severely bent canal stays small: 014 to 017 with tapers of .03 to .04 (common practice, no
// source), up to 0.29 mm wide 3 mm above the tip; cutting must not let a file straighten its way.
TEST(Habits, ASevereBendIsNotCutStraight) {
    CanalShape shape;
    shape.arc_radius_mm = 3;
    shape.arc_deg = 60;
    shape.straight_mm = 9;
    shape.orifice_diameter_mm = 0.5;
    const auto order = find_order(traced(shape, 0), generic_tray(), {});
    ASSERT_TRUE(order);
    ASSERT_TRUE(order->final_step);
    const Device& last = order->steps[*order->final_step].device;
    EXPECT_LE(final_size_mm(last, {}), 0.29) << last.id;
    EXPECT_LT(largest_transport_mm(traced(shape, 0), order->shaped).value, 0.15);
}

}  // namespace
}  // namespace anfract
