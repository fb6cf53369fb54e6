#include "anfract/phantom/phantom.h"

#include <gtest/gtest.h>

namespace anfract {
namespace {

Phantom made(const std::string& kind, std::uint64_t seed = 1, double voxel_mm = 0.25,
             unsigned threads = 0) {
    PhantomOptions options;
    options.kind = kind;
    options.seed = seed;
    options.voxel_mm = voxel_mm;
    options.threads = threads;
    Result<Phantom> phantom = make_phantom(options, Progress());
    EXPECT_TRUE(phantom.has_value()) << phantom.error().sentence();
    return *phantom;
}

TEST(Phantom, IsTheSameForTheSameSeedWithAnyNumberOfThreads) {
    const Phantom one = made("lower-premolar", 3, 0.25, 1);
    const Phantom two = made("lower-premolar", 3, 0.25, 2);
    const Phantom other = made("lower-premolar", 4, 0.25, 2);
    EXPECT_EQ(one.volume.voxels, two.volume.voxels);
    EXPECT_NE(one.volume.voxels, other.volume.voxels);
    ASSERT_EQ(one.truth.canals.size(), two.truth.canals.size());
    for (std::size_t i = 0; i < one.truth.canals.size(); ++i) {
        EXPECT_EQ(one.truth.canals[i].depth_to_foramen_mm, two.truth.canals[i].depth_to_foramen_mm);
    }
}

TEST(Phantom, RefusesWhatItCannotMake) {
    PhantomOptions options;
    options.kind = "tusk";
    EXPECT_EQ(make_phantom(options, Progress()).error().code, ErrorCode::NotFound);
    options = {};
    options.voxel_mm = 0;
    EXPECT_EQ(make_phantom(options, Progress()).error().code, ErrorCode::BadInput);
    options = {};
    options.noise = -1;
    EXPECT_EQ(make_phantom(options, Progress()).error().code, ErrorCode::BadInput);
}

TEST(Phantom, StopsWhenCancelled) {
    Progress progress;
    progress.cancel();
    EXPECT_EQ(make_phantom({}, progress).error().code, ErrorCode::Cancelled);
}

}  // namespace
}  // namespace anfract
