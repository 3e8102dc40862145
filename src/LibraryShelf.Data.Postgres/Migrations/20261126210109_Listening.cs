using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
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
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    Title = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Credit = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    SourceSha256 = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: false, collation: "C"),
                    AddedAt = table.Column<long>(type: "bigint", nullable: false),
                    Generation = table.Column<int>(type: "integer", nullable: false),
                    OpusSha256 = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: true, collation: "C"),
                    WavSha256 = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: true, collation: "C"),
                    Seconds = table.Column<double>(type: "double precision", nullable: false),
                    LoudnessLufs = table.Column<double>(type: "double precision", nullable: true),
                    TruePeakDbtp = table.Column<double>(type: "double precision", nullable: true),
                    Trouble = table.Column<string>(type: "text", nullable: true, collation: "C")
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
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Name = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: false, collation: "C"),
                    Sha256 = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: false, collation: "C"),
                    Size = table.Column<long>(type: "bigint", nullable: false)
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
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Generation = table.Column<int>(type: "integer", nullable: false),
                    Excerpts = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    PlayableBytes = table.Column<int>(type: "integer", nullable: false),
                    GainDb = table.Column<double>(type: "double precision", nullable: false),
                    LoudnessLufs = table.Column<double>(type: "double precision", nullable: true),
                    TruePeakDbtp = table.Column<double>(type: "double precision", nullable: true),
                    Trouble = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    MadeAt = table.Column<long>(type: "bigint", nullable: false)
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
