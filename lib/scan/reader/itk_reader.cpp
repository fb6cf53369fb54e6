#include "itk_reader.h"

#include <itkNiftiImageIO.h>
#include <itkNrrdImageIO.h>

#include <algorithm>
#include <boost/algorithm/string/replace.hpp>

namespace anfract {
namespace {

NumberKind kind_of(itk::IOComponentEnum type) {
    switch (type) {
        case itk::IOComponentEnum::CHAR:
            return NumberKind::Int8;
        case itk::IOComponentEnum::UCHAR:
            return NumberKind::Uint8;
        case itk::IOComponentEnum::SHORT:
            return NumberKind::Int16;
        case itk::IOComponentEnum::USHORT:
            return NumberKind::Uint16;
        case itk::IOComponentEnum::INT:
            return NumberKind::Int32;
        case itk::IOComponentEnum::UINT:
            return NumberKind::Uint32;
        case itk::IOComponentEnum::FLOAT:
            return NumberKind::Float;
        case itk::IOComponentEnum::DOUBLE:
            return NumberKind::Double;
        default:
            return NumberKind::Other;
    }
}

/// Runs `work` on a file and turns ITK's exceptions into words. ITK names the file with its
/// folders, which whoever sent it need not know.
template <class Work>
std::string guarded(const std::string& path, const Work& work) {
    try {
        work();
        return {};
    } catch (const std::bad_alloc&) {
        throw;
    } catch (const itk::ExceptionObject& error) {
        std::string reason = error.GetDescription();
        // ITK puts the address of an object in front: "ITK ERROR: NiftiImageIO(0x55...): reason".
        if (const auto at = reason.find("): "); at != std::string::npos)
            reason = reason.substr(at + 3);
        boost::replace_all(reason, path, "the file");
        reason = reason.substr(0, reason.find('\n')).substr(0, 120);
        return "it is damaged or cut off (" + reason + ")";
    } catch (const std::exception&) {
        return "it is damaged or cut off";
    }
}

}  // namespace

struct ItkReader::Parts {
    itk::ImageIOBase::Pointer io;
};

ItkReader::ItkReader(const std::filesystem::path& path, bool nrrd)
    : parts_(std::make_unique<Parts>()) {
    itk::Object::GlobalWarningDisplayOff();
    if (nrrd) {
        parts_->io = itk::NrrdImageIO::New();
    } else {
        parts_->io = itk::NiftiImageIO::New();
    }
    parts_->io->SetFileName(path.string());
}

ItkReader::~ItkReader() = default;

std::string ItkReader::read_header(ItkHeader& header) {
    return guarded(parts_->io->GetFileName(), [&] {
        itk::ImageIOBase& io = *parts_->io;
        io.ReadImageInformation();
        header.dimensions = io.GetNumberOfDimensions();
        header.components = io.GetNumberOfComponents();
        header.numbers = kind_of(io.GetComponentType());
        for (unsigned a = 0; a < std::min(header.dimensions, 4u); ++a) {
            header.size[a] = io.GetDimensions(a);
            if (a == 3) break;
            header.spacing_mm[a] = io.GetSpacing(a);
            header.origin_mm[a] = io.GetOrigin(a);
            const std::vector<double> axis = io.GetDirection(a);
            std::copy_n(axis.begin(), std::min<std::size_t>(3, axis.size()),
                        header.axes[a].begin());
        }
    });
}

std::string ItkReader::read_numbers(void* to) {
    return guarded(parts_->io->GetFileName(), [&] {
        itk::ImageIOBase& io = *parts_->io;
        itk::ImageIORegion region(io.GetNumberOfDimensions());
        for (unsigned a = 0; a < io.GetNumberOfDimensions(); ++a)
            region.SetSize(a, io.GetDimensions(a));
        io.SetIORegion(region);
        io.Read(to);
    });
}

}  // namespace anfract
