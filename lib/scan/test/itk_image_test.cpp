#include <gtest/gtest.h>
#include <itkImage.h>
#include <itkImageFileWriter.h>
#include <itkNiftiImageIO.h>
#include <itkNrrdImageIO.h>

#include <cmath>
#include <fstream>
#include <random>

#include "itk_expectations.h"

// ITK writes the files; what its own grid says of a voxel is the truth. This source knows no Eigen,
// since ITK brings one of its own.
namespace anfract::test {
namespace {

template <class T>
using Image = itk::Image<T, 3>;

/// A small image in an oblique, perhaps left-handed, frame.
template <class T>
typename Image<T>::Pointer oblique_image(bool left_handed, double low, double high) {
    auto image = Image<T>::New();
    typename Image<T>::RegionType region;
    region.SetSize({11, 9, 7});
    image->SetRegions(region);
    image->Allocate();
    const double spacing[3] = {0.2, 0.3, 0.25};
    const double origin[3] = {-10, 20, 5.5};
    image->SetSpacing(spacing);
    image->SetOrigin(origin);
    // A turn by 0.5 about z after one by 0.3 about x.
    const double c = std::cos(0.5), s = std::sin(0.5), d = std::cos(0.3), t = std::sin(0.3);
    typename Image<T>::DirectionType direction;
    const double m[3][3] = {{c, -s * d, s * t}, {s, c * d, -c * t}, {0, t, d}};
    for (unsigned row = 0; row < 3; ++row) {
        for (unsigned column = 0; column < 3; ++column) {
            direction(row, column) = m[row][column] * (left_handed && column == 1 ? -1 : 1);
        }
    }
    image->SetDirection(direction);
    std::mt19937 random(4);
    std::uniform_real_distribution<double> value(low, high);
    T* const values = image->GetBufferPointer();
    for (std::size_t n = 0; n < 11 * 9 * 7; ++n) values[n] = static_cast<T>(value(random));
    return image;
}

template <class T>
void write(Image<T>* image, itk::ImageIOBase* io, const std::string& path) {
    auto writer = itk::ImageFileWriter<Image<T>>::New();
    writer->SetInput(image);
    writer->SetImageIO(io);
    writer->SetFileName(path);
    writer->SetUseCompression(true);
    writer->Update();
}

template <class T>
void expect_round_trip(double low, double high, double tolerance, bool left_handed) {
    auto image = oblique_image<T>(left_handed, low, high);
    const PathMaker paths;
    for (const std::string name : {"a.nii", "a.nii.gz", "a.nrrd", "a.nhdr"}) {
        SCOPED_TRACE(name);
        itk::ImageIOBase::Pointer io;
        if (name.find("nii") != std::string::npos) {
            io = itk::NiftiImageIO::New();
        } else {
            io = itk::NrrdImageIO::New();
        }
        write<T>(image, io, paths.path(name));
        std::vector<GreyAt> greys;
        for (unsigned n = 0; n < 11 * 9 * 7; n += 13) {
            typename Image<T>::IndexType index{{n % 11, n / 11 % 9, n / 99}};
            itk::Point<double, 3> p;
            image->TransformIndexToPhysicalPoint(index, p);
            greys.push_back({{p[0], p[1], p[2]}, double(image->GetPixel(index))});
        }
        expect_greys(paths.path(name), {11, 9, 7}, greys, tolerance);
    }
}

}  // namespace

TEST(ReadItkImage, GivesEveryVoxelAtItsPlaceInObliqueFrames) {
    for (const bool left_handed : {false, true}) {
        expect_round_trip<short>(-1000, 3000, 0, left_handed);
    }
}

TEST(ReadItkImage, KeepsWholeNumbersExactlyAndSpreadsOthers) {
    expect_round_trip<unsigned char>(0, 255, 0, false);
    expect_round_trip<unsigned short>(0, 65535, 0, false);
    expect_round_trip<int>(100000, 160000, 0, false);
    // Half a step of 65534 over the range, and single precision.
    expect_round_trip<float>(-1000, 3000, 0.5 * 4000 / 65534 + 1e-3, false);
    expect_round_trip<double>(0, 1, 0.5 / 65534 + 1e-9, true);
}

TEST(ReadItkImage, RefusesCutOffFilesAndStrangeHeaders) {
    auto image = oblique_image<short>(false, -1000, 3000);
    const PathMaker paths;
    write<short>(image, itk::NiftiImageIO::New(), paths.path("a.nii.gz"));
    write<short>(image, itk::NrrdImageIO::New(), paths.path("a.nrrd"));
    for (const char* name : {"a.nii.gz", "a.nrrd"}) {
        paths.cut(name, 200);
        expect_refused(paths.path(name), "cut off");
    }
    paths.write("secret.nhdr",
                "NRRD0004\ntype: short\ndimension: 3\nsizes: 4 4 4\nspacings: 1 1 1\n"
                "encoding: raw\nendian: little\ndata file: /etc/hostname\n");
    expect_refused(paths.path("secret.nhdr"), "does not lie beside it");
    paths.write("huge.nrrd",
                "NRRD0004\ntype: short\ndimension: 3\nsizes: 60000 60000 60000\n"
                "spacings: 1 1 1\nencoding: raw\nendian: little\n\nxx");
    expect_refused(paths.path("huge.nrrd"), "more voxels than can be read");
    paths.write(
        "vector.nrrd",
        "NRRD0004\ntype: short\ndimension: 4\nsizes: 3 2 2 2\nkinds: vector domain domain domain\n"
        "encoding: raw\nendian: little\n\n" +
            std::string(48, 'x'));
    expect_refused(paths.path("vector.nrrd"), "colour or vector image");
}

}  // namespace anfract::test
