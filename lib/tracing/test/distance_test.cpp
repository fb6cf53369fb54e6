#include "distance.h"

#include <gtest/gtest.h>
#include <itkImage.h>
#include <itkSignedMaurerDistanceMapImageFilter.h>

#include <random>

#include "synthetic.h"

namespace anfract::tracing {
namespace {

/// Distances to the voxels of a mask by ITK's exact transform [Maurer2003].
std::vector<float> by_itk(const Mask& mask, const GridGeometry& g) {
    using Bytes = itk::Image<unsigned char, 3>;
    using Floats = itk::Image<float, 3>;
    auto image = Bytes::New();
    Bytes::RegionType region;
    Bytes::SpacingType spacing;
    for (unsigned a = 0; a < 3; ++a) {
        region.SetSize(a, itk::SizeValueType(g.size[a]));
        spacing[a] = g.spacing_mm[a];
    }
    image->SetRegions(region);
    image->SetSpacing(spacing);
    image->Allocate();
    std::copy(mask.begin(), mask.end(), image->GetBufferPointer());
    auto filter = itk::SignedMaurerDistanceMapImageFilter<Bytes, Floats>::New();
    filter->SetInput(image);
    filter->UseImageSpacingOn();
    filter->SquaredDistanceOff();
    filter->InsideIsPositiveOff();
    filter->Update();
    const float* d = filter->GetOutput()->GetBufferPointer();
    return {d, d + mask.size()};
}

TEST(Distance, AgreesWithMaurersTransformOnScatteredVoxels) {
    GridGeometry g = synthetic::grid(31, 24, 19, 0.1);
    g.spacing_mm = Vec3(0.1, 0.15, 0.25);
    Mask mask(g.voxel_count(), 0);
    std::mt19937 random(11);
    for (int n = 0; n < 40; ++n) mask[random() % mask.size()] = 1;
    const std::vector<float> ours = distance_to(mask, g, 2);
    const std::vector<float> theirs = by_itk(mask, g);
    for (std::size_t n = 0; n < mask.size(); ++n) {
        // Single voxels are all border, so ITK's distance to the border is that to the voxel.
        EXPECT_NEAR(ours[n], std::abs(theirs[n]), 1e-4);
    }
}

TEST(Distance, AgreesWithMaurersTransformInsideASolid) {
    GridGeometry g = synthetic::grid(31, 26, 23, 0.1);
    g.spacing_mm = Vec3(0.1, 0.15, 0.25);
    Mask outside(g.voxel_count(), 1);
    for (int k = 0; k < 23; ++k) {
        for (int j = 0; j < 26; ++j) {
            for (int i = 0; i < 31; ++i) {
                const bool in_ball = (Vec3(i, j, k) - Vec3(9, 12, 11)).norm() < 8;
                const bool in_slab = i > 18;  // reaches the border of the grid
                if (in_ball || in_slab) outside[g.index(i, j, k)] = 0;
            }
        }
    }
    constexpr double far_mm = 0.6;
    const std::vector<float> ours = distance_to(outside, g, 2);
    const std::vector<float> near = distance_to(outside, g, 2, far_mm);
    const std::vector<float> theirs = by_itk(outside, g);
    for (std::size_t n = 0; n < outside.size(); ++n) {
        if (outside[n] != 0) {
            EXPECT_EQ(ours[n], 0);
            continue;
        }
        EXPECT_NEAR(ours[n], theirs[n], 1e-4);
        EXPECT_FLOAT_EQ(near[n], std::min(ours[n], float(far_mm)));
    }
}

TEST(Distance, GrowsABallByItsRadius) {
    const GridGeometry g = synthetic::grid(41, 41, 41, 0.1);
    Mask point(g.voxel_count(), 0);
    point[g.index(20, 20, 20)] = 1;
    const Mask ball = dilated(point, g, 1.05, 1);
    std::size_t count = 0;
    for (const auto voxel : ball) count += voxel;
    // 4/3 pi r^3; the lattice points in a ball of 10.5 voxels scatter about it by 2 %.
    EXPECT_NEAR(double(count) * 1e-3, 4.18879 * 1.05 * 1.05 * 1.05, 0.1);
    const Mask back = eroded(ball, g, 1.0, 1);
    EXPECT_EQ(back[g.index(20, 20, 20)], 1);
    EXPECT_EQ(back[g.index(22, 20, 20)], 0);
}

TEST(Distance, IsFarWhereTheMaskIsEmpty) {
    const GridGeometry g = synthetic::grid(4, 4, 4, 0.1);
    EXPECT_FLOAT_EQ(distance_to(Mask(64, 0), g, 1, 99)[5], 99);
}

}  // namespace
}  // namespace anfract::tracing
