#include "itk_pipeline.h"

#include <itkBinaryThresholdImageFilter.h>
#include <itkFastMarchingImageFilter.h>
#include <itkHessianToObjectnessMeasureImageFilter.h>
#include <itkImage.h>
#include <itkMultiScaleHessianBasedMeasureImageFilter.h>
#include <itkMultiThreaderBase.h>
#include <itkSignedMaurerDistanceMapImageFilter.h>

#include <algorithm>
#include <thread>

namespace anfract::bench {
namespace {

using Floats = itk::Image<float, 3>;
using Bytes = itk::Image<unsigned char, 3>;

Floats::Pointer image_of(const PlainImage& plain) {
    auto image = Floats::New();
    Floats::RegionType region;
    Floats::SpacingType spacing;
    for (unsigned a = 0; a < 3; ++a) {
        region.SetSize(a, itk::SizeValueType(plain.size[a]));
        spacing[a] = plain.spacing_mm[a];
    }
    image->SetRegions(region);
    image->SetSpacing(spacing);
    image->Allocate();
    std::copy(plain.grey.begin(), plain.grey.end(), image->GetBufferPointer());
    return image;
}

std::vector<float> values_of(const Floats* image) {
    const float* first = image->GetBufferPointer();
    return {first, first + image->GetBufferedRegion().GetNumberOfPixels()};
}

Floats::Pointer vesselness_of(Floats* image) {
    using Tensor = itk::SymmetricSecondRankTensor<double, 3>;
    using Hessians = itk::Image<Tensor, 3>;
    using Objectness = itk::HessianToObjectnessMeasureImageFilter<Hessians, Floats>;
    auto tubes = Objectness::New();
    tubes->SetObjectDimension(1);
    tubes->SetBrightObject(false);
    tubes->SetScaleObjectnessMeasure(true);
    auto scales = itk::MultiScaleHessianBasedMeasureImageFilter<Floats, Hessians, Floats>::New();
    scales->SetInput(image);
    scales->SetHessianToMeasureFilter(tubes);
    scales->SetSigmaMinimum(0.1);
    scales->SetSigmaMaximum(0.4);
    scales->SetNumberOfSigmaSteps(4);
    scales->SetSigmaStepMethodToLogarithmic();
    scales->Update();
    return scales->GetOutput();
}

Floats::Pointer arrival_from(Floats* vesselness, const std::array<int, 3>& seed, double stop_at) {
    auto speed = Floats::New();
    speed->CopyInformation(vesselness);
    speed->SetRegions(vesselness->GetLargestPossibleRegion());
    speed->Allocate();
    const float* v = vesselness->GetBufferPointer();
    const std::size_t count = vesselness->GetBufferedRegion().GetNumberOfPixels();
    const float most = *std::max_element(v, v + count);
    for (std::size_t n = 0; n < count; ++n) {
        speed->GetBufferPointer()[n] = 0.05F + 10 * v[n] / most;
    }
    using March = itk::FastMarchingImageFilter<Floats, Floats>;
    auto march = March::New();
    auto seeds = March::NodeContainer::New();
    March::NodeType node;
    Floats::IndexType index;
    for (unsigned a = 0; a < 3; ++a) index[a] = seed[a];
    node.SetValue(0);
    node.SetIndex(index);
    seeds->InsertElement(0, node);
    march->SetTrialPoints(seeds);
    march->SetInput(speed);
    march->SetStoppingValue(stop_at);
    march->Update();
    return march->GetOutput();
}

Floats::Pointer distance_of(Floats* image, float hard_from) {
    auto threshold = itk::BinaryThresholdImageFilter<Floats, Bytes>::New();
    threshold->SetInput(image);
    threshold->SetLowerThreshold(hard_from);
    threshold->SetInsideValue(1);
    threshold->SetOutsideValue(0);
    auto distance = itk::SignedMaurerDistanceMapImageFilter<Bytes, Floats>::New();
    distance->SetInput(threshold->GetOutput());
    distance->UseImageSpacingOn();
    distance->SquaredDistanceOff();
    distance->Update();
    return distance->GetOutput();
}

}  // namespace

ItkTrace trace_with_itk(const PlainImage& plain, const std::array<int, 3>& seed, float hard_from,
                        double stop_at, unsigned threads) {
    itk::MultiThreaderBase::SetGlobalDefaultNumberOfThreads(
        threads > 0 ? threads : std::thread::hardware_concurrency());
    const Floats::Pointer image = image_of(plain);
    const Floats::Pointer vesselness = vesselness_of(image);
    const Floats::Pointer arrival = arrival_from(vesselness, seed, stop_at);
    const Floats::Pointer distance = distance_of(image, hard_from);
    return {values_of(vesselness), values_of(arrival), values_of(distance)};
}

}  // namespace anfract::bench
