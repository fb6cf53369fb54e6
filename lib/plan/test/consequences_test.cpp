// What a plan says beside its order: what is taken away, how likely it fails, why not the others;
// and stocks and canals nobody should have.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <nlohmann/json.hpp>
#include <set>
#include <thread>

#include "anfract/plan/make_plan.h"
#include "anfract/plan/plan_file.h"
#include "hand_made.h"

namespace anfract {
namespace {

using ::testing::HasSubstr;

PlanOptions few_samples() {
    PlanOptions options;
    options.samples = 60;
    return options;
}

const Plan& bent() {
    static const Plan plan = [] {
        const auto made = make_plan(testing::tooth({testing::canal("MB", 7, 45)}),
                                    testing::small_tray(), few_samples());
        EXPECT_TRUE(made) << made.error().sentence();
        return made.value_or(Plan{});
    }();
    return plan;
}

TEST(Consequences, EveryFileOfTheTrayHasAStepOrAReason) {
    const CanalPlan& canal = bent().canals.front();
    std::set<std::string> seen;
    for (const PlanStep& step : canal.order) seen.insert(step.device);
    for (const UnusedInstrument& unused : canal.unused) {
        EXPECT_TRUE(seen.insert(unused.device).second) << unused.device << " is told of twice";
        EXPECT_EQ(unused.why.back(), '.');
        EXPECT_NE(unused.why.find_first_of("0123456789"), std::string::npos) << unused.why;
        EXPECT_EQ(unused.because == UnusedInstrument::Because::Length,
                  unused.why.find("room for the stop") != std::string::npos)
            << unused.why;
    }
    for (const Device& device : bent().tray.devices) {
        EXPECT_TRUE(!device.cuts() || seen.contains(device.id)) << device.id;
    }
}

TEST(Consequences, WhatIsTakenAwayAgreesWithTheSheet) {
    const CanalPlan& canal = bent().canals.front();
    ASSERT_TRUE(canal.removal && canal.sheet);
    const SheetBeforeAndAfter& sheet = *canal.sheet;
    double volume = 0;  // the sum of rings, as coarse as the sheet
    for (std::size_t i = 1; i < sheet.depth_mm.size(); ++i) {
        for (std::size_t j = 0; j < sheet.theta_deg.size(); ++j) {
            const double was = sheet.radius_before_mm[i][j], is = sheet.radius_after_mm[i][j];
            EXPECT_GE(is, was);
            volume += (is * is - was * was) * std::numbers::pi / double(sheet.theta_deg.size()) *
                      (sheet.depth_mm[i] - sheet.depth_mm[i - 1]);
        }
    }
    EXPECT_NEAR(volume, canal.removal->volume_mm3, 0.05 + 0.1 * volume);
    EXPECT_GE(canal.removal->untouched_share, 0);
    EXPECT_LE(canal.removal->untouched_share, 1);
    EXPECT_LE(canal.removal->bend_after_deg, canal.removal->bend_before_deg + 1);
    EXPECT_FALSE(canal.removal->sentences.empty());
}

// The canal of bent() turns toward +x below 13 mm; its wall is 1.2 mm everywhere, so that what is
// left of the inner one is that less what was taken there.
TEST(Consequences, TheInnerWallOfTheBendIsFollowedAlongTheCanal) {
    const CanalPlan& canal = bent().canals.front();
    ASSERT_TRUE(canal.removal && canal.removal->along);
    const WatchedWall& along = *canal.removal->along;
    ASSERT_EQ(along.depth_mm.size(), along.wall_mm.size());
    ASSERT_EQ(along.depth_mm.size(), along.danger_zone.size());
    for (std::size_t i = 0; i < along.depth_mm.size(); ++i) {
        const double depth = along.depth_mm[i];
        EXPECT_GE(along.removed_mm[i], 0);
        // The last 2 mm, where a root thins out, are no finding.
        EXPECT_FALSE(depth > canal.depth_to_foramen_mm - 1.9 && along.wall_mm[i]) << depth;
        if (depth > 13.8 && depth < canal.depth_to_foramen_mm - 2.1) {
            ASSERT_TRUE(along.wall_mm[i]) << depth;
            EXPECT_LE(*along.wall_mm[i], 1.2 + 1e-6);
            EXPECT_GE(*along.wall_mm[i], 1.2 - along.removed_mm[i] - 1e-6);
        }
    }
}

// Toward distal in a lower mesial root [DeDeus2019]; nowhere in a distal one.
TEST(Consequences, TheDangerZoneIsThatOfLowerMesialRootsOnly) {
    const auto any = [](const CanalPlan& canal) {
        const auto& danger = canal.removal->along->danger_zone;
        return std::find(danger.begin(), danger.end(), true) != danger.end();
    };
    EXPECT_TRUE(any(bent().canals.front()));
    const auto distal = make_plan(testing::tooth({testing::canal("D", 7, 45)}),
                                  testing::small_tray(), few_samples());
    ASSERT_TRUE(distal) << distal.error().sentence();
    EXPECT_FALSE(any(distal->canals.front()));
}

// The share of the wall that no file touched falls from step to step and ends with the order's.
TEST(Consequences, TheUntouchedWallShrinksFromStepToStep) {
    const CanalPlan& canal = bent().canals.front();
    double before = 1;
    for (const PlanStep& step : canal.order) {
        ASSERT_TRUE(step.untouched_share);
        EXPECT_LE(*step.untouched_share, before + 1e-12);
        before = *step.untouched_share;
    }
    EXPECT_NEAR(before, canal.removal->untouched_share, 1e-9);
    EXPECT_LT(before, 1);
}

TEST(Consequences, RisksAreProbabilitiesWithTheErrorOfTheirSampling) {
    const CanalPlan& canal = bent().canals.front();
    ASSERT_TRUE(canal.risks);
    EXPECT_EQ(canal.risks->samples, 60);
    for (const PlanRisk& line : canal.risks->risks) {
        EXPECT_LE(line.risk.low, line.risk.probability);
        EXPECT_GE(line.risk.high, line.risk.probability);
        EXPECT_LE(line.risk.probability, canal.risks->any + 1e-12);
        EXPECT_EQ(line.sentence.back(), '.');
    }
    PlanOptions none;
    none.samples = 0;
    const auto without = make_plan(bent().tooth, bent().tray, none);
    ASSERT_TRUE(without);
    EXPECT_FALSE(without->canals.front().risks);
}

TEST(Consequences, ComeBackFromTheFile) {
    const nlohmann::json written = plan_to_json(bent());
    const auto back = plan_from_json(written, "plan");
    ASSERT_TRUE(back) << back.error().sentence();
    EXPECT_EQ(nlohmann::json::diff(written, plan_to_json(*back)), nlohmann::json::array());
    EXPECT_FALSE(written["canals"][0]["risks"].is_null());
    EXPECT_FALSE(written["canals"][0]["removal"].is_null());
}

TEST(Consequences, AnEmptyStockSaysSoInsteadOfAnOrder) {
    Tray tray = testing::small_tray();
    for (Device& device : tray.devices) device.stock = 0;
    for (const Tray& stock : {tray, Tray{}}) {
        const auto plan =
            make_plan(testing::tooth({testing::canal("M", 9, 30)}), stock, few_samples());
        ASSERT_TRUE(plan) << plan.error().sentence();
        const CanalPlan& canal = plan->canals.front();
        EXPECT_TRUE(canal.order.empty());
        EXPECT_FALSE(canal.final_size);
        EXPECT_FALSE(canal.risks);
        ASSERT_FALSE(canal.notes.empty());
        EXPECT_THAT(canal.notes.front(), HasSubstr("hand file 0"));
        EXPECT_EQ(plan->warnings.front().severity, 3);
    }
}

TEST(Consequences, OneLongerFileIsNamedWhereItWouldTakeTheCanalFurther) {
    Tray tray = testing::small_tray();
    for (Device& device : tray.devices) {
        if (device.kind == DeviceKind::RotaryFile && device.tip_mm > 0.16) device.length_mm = 21;
    }
    const auto plan = make_plan(testing::tooth({testing::canal("M", 40, 12)}), tray, few_samples());
    ASSERT_TRUE(plan) << plan.error().sentence();
    std::string notes;
    for (const std::string& note : plan->canals.front().notes) notes += note;
    EXPECT_THAT(notes, HasSubstr("With one rotary-file"));
    EXPECT_THAT(notes, HasSubstr("of 25 mm"));
}

TEST(Consequences, ACanalWithoutWidthIsRefusedInOneSentence) {
    Canal closed = testing::canal("M", 9, 30);
    for (CanalSample& sample : closed.samples) {
        sample.diameter_mm = sample.diameter_short_mm = sample.diameter_long_mm = 0;
    }
    const auto plan = make_plan(testing::tooth({closed}), testing::small_tray(), few_samples());
    ASSERT_FALSE(plan);
    EXPECT_EQ(plan.error().code, ErrorCode::BadInput);
    EXPECT_THAT(plan.error().sentence(), HasSubstr("no width at 8.0 mm"));
}

TEST(Consequences, AHugeTrayIsThinnedAndEveryFileIsAnswered) {
    Tray tray = testing::small_tray();
    const std::size_t files = tray.devices.size();
    for (std::size_t i = 0; tray.devices.size() < 2000; ++i) {
        Device device = tray.devices[i % files];
        device.id += "-" + std::to_string(i);
        device.tip_mm += 0.0001 * double(i % 97);
        tray.devices.push_back(device);
    }
    const auto plan = make_plan(testing::tooth({testing::canal("M", 12, 20)}), tray, few_samples());
    ASSERT_TRUE(plan) << plan.error().sentence();
    const CanalPlan& canal = plan->canals.front();
    EXPECT_TRUE(canal.final_size);
    std::size_t cutting = 0;
    for (const Device& device : tray.devices) cutting += device.cuts();
    EXPECT_EQ(canal.unused.size() + canal.order.size(), cutting);
}

TEST(Consequences, CancellingIsHeardWithinASecond) {
    std::atomic<bool> started{false};
    double last = 0;
    bool falls = false;
    Progress progress([&](double fraction, std::string_view) {
        started = true;
        falls = falls || fraction < last - 1e-9;
        last = fraction;
    });
    PlanOptions options;
    options.samples = 100000;
    options.threads = 1;
    Result<Plan> plan = Plan{};
    std::thread worker([&] {
        plan = make_plan(testing::tooth({testing::canal("M", 7, 45)}), testing::small_tray(),
                         options, progress);
    });
    while (!started) std::this_thread::yield();
    std::this_thread::sleep_for(std::chrono::milliseconds(300));
    const auto asked = std::chrono::steady_clock::now();
    progress.cancel();
    worker.join();
    EXPECT_LT(std::chrono::steady_clock::now() - asked, std::chrono::seconds(1));
    ASSERT_FALSE(plan);
    EXPECT_EQ(plan.error().code, ErrorCode::Cancelled);
    EXPECT_FALSE(falls) << "progress went back";
}

}  // namespace
}  // namespace anfract
