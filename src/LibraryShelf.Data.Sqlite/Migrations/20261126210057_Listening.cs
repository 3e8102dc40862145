using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class Listening : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "LibraryMusic",
                columns: table => new
                {
                    LibraryId = table.Column<long>(type: "INTEGER", nullable: false),
                    Title = table.Column<string>(type: "TEXT", nullable: false),
                    Credit = table.Column<string>(type: "TEXT", nullable: false),
                    SourceSha256 = table.Column<string>(type: "TEXT", maxLength: 64, nullable: false),
                    AddedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    Generation = table.Column<int>(type: "INTEGER", nullable: false),
                    OpusSha256 = table.Column<string>(type: "TEXT", maxLength: 64, nullable: true),
                    WavSha256 = table.Column<string>(type: "TEXT", maxLength: 64, nullable: true),
                    Seconds = table.Column<double>(type: "REAL", nullable: false),
                    LoudnessLufs = table.Column<double>(type: "REAL", nullable: true),
                    TruePeakDbtp = table.Column<double>(type: "REAL", nullable: true),
                    Trouble = table.Column<string>(type: "TEXT", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_LibraryMusic", x => x.LibraryId);
                    table.ForeignKey(
                        name: "FK_LibraryMusic_Libraries_LibraryId",
                        column: x => x.LibraryId,
                        principalTable: "Libraries",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "ListeningFiles",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    Name = table.Column<string>(type: "TEXT", maxLength: 64, nullable: false),
                    Sha256 = table.Column<string>(type: "TEXT", maxLength: 64, nullable: false),
                    Size = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ListeningFiles", x => new { x.ReleaseId, x.Name });
                    table.ForeignKey(
                        name: "FK_ListeningFiles_Releases_ReleaseId",
                        column: x => x.ReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "ReleaseListenings",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    Generation = table.Column<int>(type: "INTEGER", nullable: false),
                    Excerpts = table.Column<string>(type: "TEXT", nullable: false),
                    PlayableBytes = table.Column<int>(type: "INTEGER", nullable: false),
                    GainDb = table.Column<double>(type: "REAL", nullable: false),
                    LoudnessLufs = table.Column<double>(type: "REAL", nullable: true),
                    TruePeakDbtp = table.Column<double>(type: "REAL", nullable: true),
                    Trouble = table.Column<string>(type: "TEXT", nullable: true),
                    MadeAt = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ReleaseListenings", x => x.ReleaseId);
                    table.ForeignKey(
                        name: "FK_ReleaseListenings_Releases_ReleaseId",
                        column: x => x.ReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_ListeningFiles_Sha256",
                table: "ListeningFiles",
                column: "Sha256");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "LibraryMusic");

            migrationBuilder.DropTable(
                name: "ListeningFiles");

            migrationBuilder.DropTable(
                name: "ReleaseListenings");
        }
    }
}
