#include "anfract/record/attached_file.h"

#include <filesystem>
#include <map>

namespace anfract::record {

Result<NewCaseFile> attached_file(const std::string& kind, const std::string& name,
                                  std::string bytes) {
    static const std::map<std::string, std::string> types{
        {"radiograph", "image/"}, {"picture", "image/"}, {"paper", "application/pdf"}};
    const auto type = types.find(kind);
    if (type == types.end()) {
        return fail(ErrorCode::BadInput, "is not radiograph, picture or paper", "kind",
                    "give one of them");
    }
    NewCaseFile file;
    file.kind = kind;
    file.name = std::filesystem::path(name).filename().string();
    file.bytes = std::move(bytes);
    const std::string_view head(file.bytes);
    file.media_type = head.starts_with("\x89PNG\r\n\x1a\n") ? "image/png"
                      : head.starts_with("\xff\xd8\xff")    ? "image/jpeg"
                      : head.starts_with("%PDF-")           ? "application/pdf"
                                                            : "";
    if (file.media_type.empty() || !file.media_type.starts_with(type->second)) {
        return fail(ErrorCode::BadInput, "is not a PNG or JPEG picture, or not a PDF paper",
                    file.name, "send a file of that kind");
    }
    return file;
}

}  // namespace anfract::record
