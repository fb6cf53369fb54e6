#include "anfract/exchange/dicom_receive.h"

#include <arpa/inet.h>
#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dcuid.h>
#include <dcmtk/dcmnet/scppool.h>
#include <fcntl.h>
#include <netdb.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <regex>
#include <set>
#include <thread>

#include "tls_layer.h"

namespace anfract {
namespace fs = std::filesystem;

namespace {

constexpr int most_callers = 4;

const char* const image_classes[] = {UID_CTImageStorage, UID_EnhancedCTImageStorage,
                                     UID_XRay3DCraniofacialImageStorage,
                                     UID_MultiframeGrayscaleByteSecondaryCaptureImageStorage,
                                     UID_MultiframeGrayscaleWordSecondaryCaptureImageStorage};
const char* const encodings[] = {
    UID_LittleEndianExplicitTransferSyntax, UID_LittleEndianImplicitTransferSyntax,
    UID_JPEGLSLosslessTransferSyntax,       UID_JPEG2000LosslessOnlyTransferSyntax,
    UID_JPEGProcess14SV1TransferSyntax,     UID_RLELosslessTransferSyntax};

/// The IPv4 addresses of a machine, as text.
std::set<std::string> addresses_of(const std::string& host) {
    std::set<std::string> all;
    addrinfo wanted{};
    wanted.ai_family = AF_INET;
    wanted.ai_socktype = SOCK_STREAM;
    addrinfo* found = nullptr;
    if (::getaddrinfo(host.c_str(), nullptr, &wanted, &found) != 0) return all;
    for (const addrinfo* one = found; one != nullptr; one = one->ai_next) {
        char text[INET_ADDRSTRLEN] = "";
        const auto* address = reinterpret_cast<const sockaddr_in*>(one->ai_addr);
        if (::inet_ntop(AF_INET, &address->sin_addr, text, sizeof text) != nullptr)
            all.insert(text);
    }
    ::freeaddrinfo(found);
    return all;
}

struct AllowedCaller {
    std::string title;
    std::set<std::string> addresses;  ///< empty: any
};

/// What all associations share.
struct Shared {
    DicomReceiverOptions options;
    std::vector<AllowedCaller> callers;
    std::function<void(const DicomArrival&)> arrived;
    std::function<void(const std::string&)> refused;
    mutable std::atomic<int> bringing{0};  ///< open associations that have brought something
};

bool flush(const fs::path& path, int flags) {
    const int descriptor = ::open(path.c_str(), flags | O_CLOEXEC);
    if (descriptor < 0) return false;
    const bool flushed = ::fsync(descriptor) == 0;
    ::close(descriptor);
    return flushed;
}

/// One association.
class Association : public DcmThreadSCP {
  public:
    explicit Association(const Shared& shared) : shared_(shared) {}

    OFCondition run(T_ASC_Association* const association) override {
        DIC_NODENAME caller = "", ourselves = "";
        ASC_getPresentationAddresses(association->params, caller, sizeof caller, ourselves,
                                     sizeof ourselves);
        address_ = caller;
        return DcmThreadSCP::run(association);
    }

  protected:
    OFBool checkCalledAETitleAccepted(const OFString& called) override {
        if (shared_.options.title == called.c_str()) return OFTrue;
        shared_.refused("a caller asked for " + printable(called) + ", who is not here");
        return OFFalse;
    }
    OFBool checkCallingAETitleAccepted(const OFString& calling) override {
        bool known = false;
        for (const AllowedCaller& caller : shared_.callers) {
            if (caller.title != calling.c_str()) continue;
            known = true;
            if (caller.addresses.empty() || caller.addresses.contains(address_)) {
                title_ = caller.title;
                return OFTrue;
            }
        }
        shared_.refused(known ? "'" + address_ + "' is not the machine of a caller that is allowed"
                              : printable(calling) + " is not among the callers that are allowed");
        return OFFalse;
    }

    OFCondition handleIncomingCommand(T_DIMSE_Message* message,
                                      const DcmPresentationContextInfo& context) override {
        if (message->CommandField == DIMSE_C_ECHO_RQ)
            return handleECHORequest(message->msg.CEchoRQ, context.presentationContextID);
        if (message->CommandField == DIMSE_C_STORE_RQ)
            return store(message->msg.CStoreRQ, context.presentationContextID);
        return DcmThreadSCP::handleIncomingCommand(message, context);
    }

    void notifyReleaseRequest() override {
        if (objects_ == 0 || failed_) return;
        flush(folder_, O_RDONLY | O_DIRECTORY);
        released_ = true;
    }
    void notifyAssociationTermination() override {
        std::error_code error;
        const bool brought = !folder_.empty();
        if (released_) {
            shared_.arrived({folder_, title_ + "@" + address_, objects_});
        } else if (!folder_.empty()) {
            fs::remove_all(folder_, error);
            shared_.refused(title_ + "@" + address_ + " broke off after " +
                            std::to_string(objects_) + " objects; none of them is kept");
        }
        if (brought) --shared_.bringing;
        folder_.clear();
        objects_ = 0;
        bytes_ = 0;
        released_ = failed_ = false;
    }

  private:
    static std::string printable(const OFString& text) {
        std::string plain;
        for (const char c : text) plain += c >= ' ' && c <= '~' ? c : '?';
        return "'" + plain.substr(0, 64) + "'";
    }

    OFCondition store(T_DIMSE_C_StoreRQ& request, T_ASC_PresentationContextID context) {
        if (folder_.empty()) {
            std::string name = (shared_.options.folder / ".arriving-XXXXXX").string();
            // mkdtemp makes the folder readable for this user only.
            if (::mkdtemp(name.data()) == nullptr) return EC_InvalidStream;
            folder_ = name;
            ++shared_.bringing;
        }
        // Named by its UID, so that one that is sent again takes the place of the first; nothing
        // but digits and dots may become part of a path.
        const std::string uid = request.AffectedSOPInstanceUID;
        if (!std::regex_match(uid, std::regex(R"([0-9]+(\.[0-9]+)+)"))) {
            failed_ = true;
            return EC_IllegalParameter;
        }
        const fs::path file = folder_ / (uid + ".dcm");
        const OFCondition received = receiveSTORERequest(request, context, OFString(file.c_str()));
        std::error_code error;
        const std::uintmax_t bytes = fs::file_size(file, error);
        Uint16 status = STATUS_Success;
        if (received.bad() || error || !flush(file, O_RDONLY)) {
            status = STATUS_STORE_Refused_OutOfResources;
        } else if ((bytes_ += bytes) > shared_.options.limit_bytes) {
            status = STATUS_STORE_Refused_OutOfResources;
        }
        if (status == STATUS_Success) {
            ::chmod(file.c_str(), 0600);
            ++objects_;
        } else {
            failed_ = true;
            fs::remove(file, error);
        }
        const OFCondition answered = sendSTOREResponse(context, request, status);
        // After a refusal the association is of no more use, and none of it is kept.
        return received.bad() ? received : answered;
    }

    const Shared& shared_;
    std::string title_, address_;
    fs::path folder_;
    int objects_ = 0;
    std::uint64_t bytes_ = 0;
    bool released_ = false, failed_ = false;
};

class Pool : public DcmBaseSCPPool {
  public:
    explicit Pool(const Shared& shared) : shared_(shared) {}

  private:
    struct Worker : DcmBaseSCPWorker, Association {
        Worker(Pool& pool, const Shared& shared) : DcmBaseSCPWorker(pool), Association(shared) {}
        OFCondition setSharedConfig(const DcmSharedSCPConfig& config) override {
            return Association::setSharedConfig(config);
        }
        OFBool busy() override { return isConnected(); }
        OFCondition workerListen(T_ASC_Association* const association) override {
            return Association::run(association);
        }
    };
    DcmBaseSCPWorker* createSCPWorker() override { return new Worker(*this, shared_); }

    const Shared& shared_;
};

Result<void> configure(DcmSCPConfig& config, const DicomReceiverOptions& options) {
    config.setPort(Uint16(options.port));
    config.setAETitle(options.title.c_str());
    config.setRespondWithCalledAETitle(OFFalse);
    config.setHostLookupEnabled(OFFalse);
    config.setConnectionBlockingMode(DUL_NOBLOCK);
    config.setConnectionTimeout(1);
    config.setACSETimeout(Uint32(options.patience_s));
    config.setDIMSEBlockingMode(DIMSE_NONBLOCKING);
    config.setDIMSETimeout(Uint32(options.patience_s));
    OFList<OFString> plain, all;
    plain.push_back(UID_LittleEndianExplicitTransferSyntax);
    plain.push_back(UID_LittleEndianImplicitTransferSyntax);
    for (const char* const encoding : encodings) all.push_back(encoding);
    bool good = config.addPresentationContext(UID_VerificationSOPClass, plain).good();
    for (const char* const image : image_classes)
        good = good && config.addPresentationContext(image, all).good();
    if (!good) return fail(ErrorCode::Io, "listening cannot be prepared");
    return {};
}

/// Wakes a listener that waits for a connection.
void knock(int port) {
    const int socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (socket < 0) return;
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    (void)::connect(socket, reinterpret_cast<const sockaddr*>(&address), sizeof address);
    ::close(socket);
}

}  // namespace

struct DicomReceiver::Running {
    Shared shared;
    std::unique_ptr<DcmTLSTransportLayer> tls;
    std::unique_ptr<Pool> pool;
    std::thread thread;
    std::atomic<bool> ended{false};
};

Result<DicomCaller> parse_dicom_caller(const std::string& text) {
    std::smatch parts;
    const std::regex pattern(R"(([A-Za-z0-9_.\-]{1,16})(?:@([A-Za-z0-9.\-]+))?)");
    if (std::regex_match(text, parts, pattern)) return DicomCaller{parts[1], parts[2]};
    return fail(ErrorCode::BadInput, "is not a caller", text, "write TITLE or TITLE@HOST");
}

DicomReceiver::DicomReceiver(std::unique_ptr<Running> running) : running_(std::move(running)) {}

Result<std::unique_ptr<DicomReceiver>> DicomReceiver::start(
    const DicomReceiverOptions& options, std::function<void(const DicomArrival&)> arrived,
    std::function<void(const std::string&)> refused) {
    if (!std::regex_match(options.title, std::regex(R"([A-Za-z0-9_.\-]{1,16})")))
        return fail(ErrorCode::BadInput, "is not an application title", options.title,
                    "write 1 to 16 letters and digits");
    if (options.callers.empty())
        return fail(ErrorCode::BadInput, "nobody is allowed to call", "", "name who may send");
    auto running = std::make_unique<Running>();
    running->shared.options = options;
    running->shared.arrived = std::move(arrived);
    running->shared.refused = std::move(refused);
    for (const DicomCaller& caller : options.callers) {
        AllowedCaller allowed{caller.title, {}};
        if (!caller.host.empty()) {
            allowed.addresses = addresses_of(caller.host);
            if (allowed.addresses.empty())
                return fail(ErrorCode::NotFound, "there is no such machine", caller.host,
                            "check the name or give its address");
        }
        running->shared.callers.push_back(std::move(allowed));
    }
    OFLog::configure(OFLogger::OFF_LOG_LEVEL);
    ::setenv("TCP_NODELAY", "1", 0);      // see send_dicom
    dcmDisableGethostbyaddr.set(OFTrue);  // callers are known by their address, not by a name
    running->pool = std::make_unique<Pool>(running->shared);
    running->pool->setMaxThreads(most_callers);
    DcmSCPConfig& config = running->pool->getConfig();
    if (auto done = configure(config, options); !done) return tl::unexpected(done.error());
    if (options.tls.wanted()) {
        auto layer = tls_layer(options.tls, true);
        if (!layer) return tl::unexpected(layer.error());
        running->tls = std::move(*layer);
        config.setTransportLayer(running->tls.get());
    }
    Running* const here = running.get();
    running->thread = std::thread([here] {
        (void)here->pool->listen();
        here->ended = true;
    });
    // The library says that the port is taken by returning at once.
    for (int i = 0; i < 20 && !running->ended; ++i)
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
    if (running->ended) {
        running->thread.join();
        return fail(ErrorCode::Io, "the port cannot be listened on", std::to_string(options.port),
                    "end the program that uses it, or choose another");
    }
    return std::unique_ptr<DicomReceiver>(new DicomReceiver(std::move(running)));
}

bool DicomReceiver::is_receiving() const { return running_->shared.bringing > 0; }

DicomReceiver::~DicomReceiver() {
    running_->pool->stopAfterCurrentAssociations();
    knock(running_->shared.options.port);
    if (running_->thread.joinable()) running_->thread.join();
}

}  // namespace anfract
