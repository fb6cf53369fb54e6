#include "anfract/server/plan_objects.h"

#include <array>
#include <ctime>

#include "anfract/report/key_pictures.h"

namespace anfract::server {
namespace {

std::string local_time_now() {
    const std::time_t now = std::time(nullptr);
    std::tm local{};
    localtime_r(&now, &local);
    std::array<char, 32> text{};
    std::strftime(text.data(), text.size(), "%Y-%m-%dT%H:%M:%S", &local);
    return text.data();
}

}  // namespace

Result<std::vector<DicomObject>> plan_objects(const Plan& plan, DicomSubject subject,
                                              const std::string& letter_pdf, const Brick* scan) {
    const auto drawn = key_pictures(plan, scan);
    if (!drawn) return tl::unexpected(drawn.error());
    std::vector<DicomPicture> pictures;
    for (const KeyPicture& one : *drawn)
        pictures.push_back({one.name, one.title, one.width_px, one.height_px, one.rgb});
    if (subject.issued.empty()) subject.issued = local_time_now();
    return dicom_objects(plan, subject, letter_pdf, pictures);
}

}  // namespace anfract::server
