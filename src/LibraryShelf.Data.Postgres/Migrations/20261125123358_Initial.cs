using Microsoft.EntityFrameworkCore.Migrations;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class Initial : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "Alerts",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Kind = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Subject = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Words = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    RaisedAt = table.Column<long>(type: "bigint", nullable: false),
                    LastSeenAt = table.Column<long>(type: "bigint", nullable: false),
                    Times = table.Column<int>(type: "integer", nullable: false),
                    SettledAt = table.Column<long>(type: "bigint", nullable: true),
                    MailedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Alerts", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Archives",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Kind = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    RecipeSha256 = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Length = table.Column<long>(type: "bigint", nullable: false),
                    FileName = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Sha256 = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    Trouble = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Archives", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "AspNetUsers",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    IsMaker = table.Column<bool>(type: "boolean", nullable: false),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false),
                    UserName = table.Column<string>(type: "character varying(256)", maxLength: 256, nullable: true, collation: "C"),
                    NormalizedUserName = table.Column<string>(type: "character varying(256)", maxLength: 256, nullable: true, collation: "C"),
                    Email = table.Column<string>(type: "character varying(256)", maxLength: 256, nullable: true, collation: "C"),
                    NormalizedEmail = table.Column<string>(type: "character varying(256)", maxLength: 256, nullable: true, collation: "C"),
                    EmailConfirmed = table.Column<bool>(type: "boolean", nullable: false),
                    PasswordHash = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    SecurityStamp = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    ConcurrencyStamp = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    PhoneNumber = table.Column<string>(type: "character varying(256)", maxLength: 256, nullable: true, collation: "C"),
                    PhoneNumberConfirmed = table.Column<bool>(type: "boolean", nullable: false),
                    TwoFactorEnabled = table.Column<bool>(type: "boolean", nullable: false),
                    LockoutEnd = table.Column<long>(type: "bigint", nullable: true),
                    LockoutEnabled = table.Column<bool>(type: "boolean", nullable: false),
                    AccessFailedCount = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AspNetUsers", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "BlobClaims",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Sha256 = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    ClaimedAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_BlobClaims", x => new { x.ReleaseId, x.Sha256 });
                });

            migrationBuilder.CreateTable(
                name: "Blobs",
                columns: table => new
                {
                    Sha256 = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: false, collation: "C"),
                    Size = table.Column<long>(type: "bigint", nullable: false),
                    Crc32 = table.Column<long>(type: "bigint", nullable: false),
                    StoredAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Blobs", x => x.Sha256);
                });

            migrationBuilder.CreateTable(
                name: "DataProtectionKeys",
                columns: table => new
                {
                    Id = table.Column<int>(type: "integer", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    FriendlyName = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    Xml = table.Column<string>(type: "text", nullable: true, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_DataProtectionKeys", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "DownloadEvents",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    DownloadId = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    From = table.Column<long>(type: "bigint", nullable: false),
                    To = table.Column<long>(type: "bigint", nullable: false),
                    IsEvidence = table.Column<bool>(type: "boolean", nullable: false),
                    At = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_DownloadEvents", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "DownloadTallies",
                columns: table => new
                {
                    DownloadId = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    LastEventId = table.Column<long>(type: "bigint", nullable: false),
                    BytesCovered = table.Column<long>(type: "bigint", nullable: false),
                    FinishedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_DownloadTallies", x => x.DownloadId);
                });

            migrationBuilder.CreateTable(
                name: "Downloads",
                columns: table => new
                {
                    Id = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    ArchiveId = table.Column<long>(type: "bigint", nullable: false),
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    PersonId = table.Column<long>(type: "bigint", nullable: true),
                    Why = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    MadeAt = table.Column<long>(type: "bigint", nullable: false),
                    StartBy = table.Column<long>(type: "bigint", nullable: false),
                    FinishBy = table.Column<long>(type: "bigint", nullable: false),
                    StartedAt = table.Column<long>(type: "bigint", nullable: true),
                    RevokedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Downloads", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Libraries",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Slug = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Title = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Sentence = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Description = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Sound = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Paint = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    IsPitched = table.Column<bool>(type: "boolean", nullable: false),
                    FolderName = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false),
                    Revision = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Libraries", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "LinkKeys",
                columns: table => new
                {
                    Id = table.Column<int>(type: "integer", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Secret = table.Column<byte[]>(type: "bytea", nullable: false),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false),
                    RetiredAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_LinkKeys", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Measurements",
                columns: table => new
                {
                    Sha256 = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Generation = table.Column<int>(type: "integer", nullable: false),
                    Facts = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    MeasuredAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Measurements", x => x.Sha256);
                });

            migrationBuilder.CreateTable(
                name: "MembershipGrants",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    From = table.Column<long>(type: "bigint", nullable: false),
                    Until = table.Column<long>(type: "bigint", nullable: true),
                    Note = table.Column<string>(type: "text", nullable: false, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MembershipGrants", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Outbox",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Cause = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    To = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Subject = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Text = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false),
                    SentAt = table.Column<long>(type: "bigint", nullable: true),
                    Attempts = table.Column<int>(type: "integer", nullable: false),
                    NextTryAt = table.Column<long>(type: "bigint", nullable: true),
                    LastError = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    GaveUpAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Outbox", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "SheetEntries",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Code = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Severity = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Path = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    ContentSha256 = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    Message = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    ExcuseReason = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    ExcusedAt = table.Column<long>(type: "bigint", nullable: true),
                    Order = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_SheetEntries", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Shops",
                columns: table => new
                {
                    Id = table.Column<int>(type: "integer", nullable: false),
                    Name = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    MakerLine = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Contact = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    TimeZone = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Currency = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    PostalAddress = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Terms = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Privacy = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Licence = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    IsDemo = table.Column<bool>(type: "boolean", nullable: false),
                    ClaimedAt = table.Column<long>(type: "bigint", nullable: false),
                    Revision = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Shops", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "SignInTickets",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Purpose = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    NormalizedEmail = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Email = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    TokenHash = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    CodeHash = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    WrongCodes = table.Column<int>(type: "integer", nullable: false),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false),
                    ExpiresAt = table.Column<long>(type: "bigint", nullable: false),
                    UsedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_SignInTickets", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "UploadTokens",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Name = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    TokenHash = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false),
                    LastUsedAt = table.Column<long>(type: "bigint", nullable: true),
                    RevokedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_UploadTokens", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Uploads",
                columns: table => new
                {
                    Id = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Kind = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Path = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Length = table.Column<long>(type: "bigint", nullable: false),
                    ExpectedSha256 = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false),
                    FinishedAt = table.Column<long>(type: "bigint", nullable: true),
                    Trouble = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    UnpackedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Uploads", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "AspNetUserClaims",
                columns: table => new
                {
                    Id = table.Column<int>(type: "integer", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    UserId = table.Column<long>(type: "bigint", nullable: false),
                    ClaimType = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    ClaimValue = table.Column<string>(type: "text", nullable: true, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AspNetUserClaims", x => x.Id);
                    table.ForeignKey(
                        name: "FK_AspNetUserClaims_AspNetUsers_UserId",
                        column: x => x.UserId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "AspNetUserLogins",
                columns: table => new
                {
                    LoginProvider = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: false, collation: "C"),
                    ProviderKey = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: false, collation: "C"),
                    ProviderDisplayName = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    UserId = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AspNetUserLogins", x => new { x.LoginProvider, x.ProviderKey });
                    table.ForeignKey(
                        name: "FK_AspNetUserLogins_AspNetUsers_UserId",
                        column: x => x.UserId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "AspNetUserPasskeys",
                columns: table => new
                {
                    CredentialId = table.Column<byte[]>(type: "bytea", maxLength: 1024, nullable: false),
                    UserId = table.Column<long>(type: "bigint", nullable: false),
                    Data = table.Column<string>(type: "jsonb", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AspNetUserPasskeys", x => x.CredentialId);
                    table.ForeignKey(
                        name: "FK_AspNetUserPasskeys_AspNetUsers_UserId",
                        column: x => x.UserId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "AspNetUserTokens",
                columns: table => new
                {
                    UserId = table.Column<long>(type: "bigint", nullable: false),
                    LoginProvider = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: false, collation: "C"),
                    Name = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: false, collation: "C"),
                    Value = table.Column<string>(type: "text", nullable: true, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AspNetUserTokens", x => new { x.UserId, x.LoginProvider, x.Name });
                    table.ForeignKey(
                        name: "FK_AspNetUserTokens_AspNetUsers_UserId",
                        column: x => x.UserId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "AudienceDecisions",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    Audience = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    DecidedAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AudienceDecisions", x => x.Id);
                    table.ForeignKey(
                        name: "FK_AudienceDecisions_Libraries_LibraryId",
                        column: x => x.LibraryId,
                        principalTable: "Libraries",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "Releases",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    Number = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    State = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Notes = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    LicenceSpdx = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    LicenceText = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Credits = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false),
                    CheckAskedAt = table.Column<long>(type: "bigint", nullable: true),
                    CheckDone = table.Column<int>(type: "integer", nullable: false),
                    CheckTotal = table.Column<int>(type: "integer", nullable: false),
                    CheckedAt = table.Column<long>(type: "bigint", nullable: true),
                    SealAskedAt = table.Column<long>(type: "bigint", nullable: true),
                    PublishAfterSealFor = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    Trouble = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    SealedAt = table.Column<long>(type: "bigint", nullable: true),
                    PublishedAt = table.Column<long>(type: "bigint", nullable: true),
                    Recordings = table.Column<int>(type: "integer", nullable: false),
                    FolderBytes = table.Column<long>(type: "bigint", nullable: false),
                    Keys = table.Column<int>(type: "integer", nullable: false),
                    LowestKey = table.Column<int>(type: "integer", nullable: true),
                    HighestKey = table.Column<int>(type: "integer", nullable: true),
                    Layers = table.Column<int>(type: "integer", nullable: false),
                    Takes = table.Column<int>(type: "integer", nullable: false),
                    Articulations = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Revision = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Releases", x => x.Id);
                    table.ForeignKey(
                        name: "FK_Releases_Libraries_LibraryId",
                        column: x => x.LibraryId,
                        principalTable: "Libraries",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "ReleaseFiles",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Path = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Sha256 = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Size = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ReleaseFiles", x => new { x.ReleaseId, x.Path });
                    table.ForeignKey(
                        name: "FK_ReleaseFiles_Releases_ReleaseId",
                        column: x => x.ReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "ReleasePlayer",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Name = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    LowestVersion = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    HowToInstall = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Order = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ReleasePlayer", x => x.Id);
                    table.ForeignKey(
                        name: "FK_ReleasePlayer_Releases_ReleaseId",
                        column: x => x.ReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Alerts_Kind_Subject",
                table: "Alerts",
                columns: new[] { "Kind", "Subject" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Archives_RecipeSha256",
                table: "Archives",
                column: "RecipeSha256");

            migrationBuilder.CreateIndex(
                name: "IX_Archives_ReleaseId",
                table: "Archives",
                column: "ReleaseId");

            migrationBuilder.CreateIndex(
                name: "IX_AspNetUserClaims_UserId",
                table: "AspNetUserClaims",
                column: "UserId");

            migrationBuilder.CreateIndex(
                name: "IX_AspNetUserLogins_UserId",
                table: "AspNetUserLogins",
                column: "UserId");

            migrationBuilder.CreateIndex(
                name: "IX_AspNetUserPasskeys_UserId",
                table: "AspNetUserPasskeys",
                column: "UserId");

            migrationBuilder.CreateIndex(
                name: "EmailIndex",
                table: "AspNetUsers",
                column: "NormalizedEmail");

            migrationBuilder.CreateIndex(
                name: "UserNameIndex",
                table: "AspNetUsers",
                column: "NormalizedUserName",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_AudienceDecisions_LibraryId_DecidedAt",
                table: "AudienceDecisions",
                columns: new[] { "LibraryId", "DecidedAt" });

            migrationBuilder.CreateIndex(
                name: "IX_BlobClaims_Sha256",
                table: "BlobClaims",
                column: "Sha256");

            migrationBuilder.CreateIndex(
                name: "IX_DownloadEvents_DownloadId",
                table: "DownloadEvents",
                column: "DownloadId");

            migrationBuilder.CreateIndex(
                name: "IX_DownloadTallies_FinishedAt",
                table: "DownloadTallies",
                column: "FinishedAt");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_PersonId_ReleaseId",
                table: "Downloads",
                columns: new[] { "PersonId", "ReleaseId" });

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_ReleaseId",
                table: "Downloads",
                column: "ReleaseId");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_StartedAt",
                table: "Downloads",
                column: "StartedAt");

            migrationBuilder.CreateIndex(
                name: "IX_Libraries_Slug",
                table: "Libraries",
                column: "Slug",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_MembershipGrants_PersonId",
                table: "MembershipGrants",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_Outbox_Cause",
                table: "Outbox",
                column: "Cause",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Outbox_SentAt",
                table: "Outbox",
                column: "SentAt");

            migrationBuilder.CreateIndex(
                name: "IX_ReleaseFiles_Sha256",
                table: "ReleaseFiles",
                column: "Sha256");

            migrationBuilder.CreateIndex(
                name: "IX_ReleasePlayer_ReleaseId",
                table: "ReleasePlayer",
                column: "ReleaseId");

            migrationBuilder.CreateIndex(
                name: "IX_Releases_LibraryId_Number",
                table: "Releases",
                columns: new[] { "LibraryId", "Number" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Releases_State",
                table: "Releases",
                column: "State");

            migrationBuilder.CreateIndex(
                name: "IX_SheetEntries_ReleaseId",
                table: "SheetEntries",
                column: "ReleaseId");

            migrationBuilder.CreateIndex(
                name: "IX_SignInTickets_NormalizedEmail",
                table: "SignInTickets",
                column: "NormalizedEmail");

            migrationBuilder.CreateIndex(
                name: "IX_SignInTickets_TokenHash",
                table: "SignInTickets",
                column: "TokenHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_UploadTokens_TokenHash",
                table: "UploadTokens",
                column: "TokenHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Uploads_ReleaseId",
                table: "Uploads",
                column: "ReleaseId");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "Alerts");

            migrationBuilder.DropTable(
                name: "Archives");

            migrationBuilder.DropTable(
                name: "AspNetUserClaims");

            migrationBuilder.DropTable(
                name: "AspNetUserLogins");

            migrationBuilder.DropTable(
                name: "AspNetUserPasskeys");

            migrationBuilder.DropTable(
                name: "AspNetUserTokens");

            migrationBuilder.DropTable(
                name: "AudienceDecisions");

            migrationBuilder.DropTable(
                name: "BlobClaims");

            migrationBuilder.DropTable(
                name: "Blobs");

            migrationBuilder.DropTable(
                name: "DataProtectionKeys");

            migrationBuilder.DropTable(
                name: "DownloadEvents");

            migrationBuilder.DropTable(
                name: "DownloadTallies");

            migrationBuilder.DropTable(
                name: "Downloads");

            migrationBuilder.DropTable(
                name: "LinkKeys");

            migrationBuilder.DropTable(
                name: "Measurements");

            migrationBuilder.DropTable(
                name: "MembershipGrants");

            migrationBuilder.DropTable(
                name: "Outbox");

            migrationBuilder.DropTable(
                name: "ReleaseFiles");

            migrationBuilder.DropTable(
                name: "ReleasePlayer");

            migrationBuilder.DropTable(
                name: "SheetEntries");

            migrationBuilder.DropTable(
                name: "Shops");

            migrationBuilder.DropTable(
                name: "SignInTickets");

            migrationBuilder.DropTable(
                name: "UploadTokens");

            migrationBuilder.DropTable(
                name: "Uploads");

            migrationBuilder.DropTable(
                name: "AspNetUsers");

            migrationBuilder.DropTable(
                name: "Releases");

            migrationBuilder.DropTable(
                name: "Libraries");
        }
    }
}
